//! Parts, sockets, the fit to the byte, and part files.

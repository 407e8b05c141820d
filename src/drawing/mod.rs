//! A small display list, written as SVG, PDF and text: sheets and pictures are drawn once.

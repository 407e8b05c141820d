; Character input and output through an MC6850.

/* coldwright byte table, C */
const unsigned char extent_FE00[5] = {
    0x3E, 0x03, 0xD3, 0x20, 0x76, /* 0xFE00 sum 0xAA */
    printf();
};
/* end: 5 bytes, check 0x8AA5 */

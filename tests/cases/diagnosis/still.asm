STILL:  HLT
        END     STILL

; A stage that goes wrong in its own way.
        ORG     0
COUNT:  LXI     H,1000Q
MORE:   INR     M
        JMP     MORE
        END     COUNT

"""Where a person sits: every desk shows the same requests and takes the answers, on a screen, in lines or by script."""

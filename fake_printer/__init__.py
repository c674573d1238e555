"""A simulated printer that stands alone: what it is, what it says, and the hands that work it.

It shares no code with the tool it is used to try, so that an error would have to be made twice to go unseen.
The parts below are free of input, output and clocks: time is an argument, and each says for how long nothing will
happen by itself.

    filament   where its ends are
    plant      the filament, lever, contacts and cable
    circuit    which terminals touch, and what that makes of the input
    board      supply and input pin
    memory     stored settings, as bytes
    firmware   what answers on the line
    printer    the four joined, with `hands` to work them

What a process is made of:

    wire       ports a host can open, and what a line does to bytes
    workbench  the bench over the network; `bench` is the hands' side of it
    station    one printer at its place, with line and bench
    setups     how each is set up, for one or for a fleet of them
    fleet      all stations of a process
    scheduler  lets them sleep until something is due
"""

"""A simulated printer that stands alone: what it is, what it says, and the hands that work it.

It shares no code with the tool it is used to try, so that an error would have to be made twice to go unseen.
Everything here but `wire`, `workbench`, `bench` and `__main__` is free of input, output and clocks: time is an
argument.

    plant      filament, lever, contacts and cable
    circuit    which terminals touch, and what that makes of the input
    board      supply and input pin
    memory     stored settings, as bytes
    firmware   what answers on the line
    printer    the four joined, with `hands` to work them
"""

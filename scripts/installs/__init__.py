"""A campaign of simulated installations: how many builds of the firmware it takes until the sensor is right.

    priors          what sensors, boards and sockets there are, and what people know of them: stated, not measured
    bench, build    a sensor on an input with a build on it, and what that reads
    rework          what a person changes who is told by a complete check what is wrong, build after build
    socket, asked   the borrowed socket on its bench, and the tool's own procedure answered from it
    ways            the two ways from a bare sensor to a right build, counted
    counted         means, their bounds, and the figures that must hold

The circuit, the plant in time and the person come from the campaign of commissionings: they share no code with the
rooms that judge, nor with `fake_printer`.
"""

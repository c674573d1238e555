"""The ways a host can reach the simulated printer, and what a serial line does to the bytes on the way.

base             what a wire is, and what it needs of the device behind it
pacing           bytes leave one after the other, at a speed
sampling         what a receiver makes of bytes sent at another speed; loss and damage
pseudo_terminal  a device file of this machine
network          a raw socket, and a serial port server by RFC 2217
line             joins device and wire; one step of it is everything due at a moment
"""

"""An emulated PC with a real kernel's USB serial driver, and what is tried on it; see usb_lab.py."""

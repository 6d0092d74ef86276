"""Where samples come from: boards on a serial port, recorded ones and simulated ones.

Knows counts and time; knows nothing of feet or newtons, and never imports ``balance``.
"""

"""The commands, one file each, and the terminal view; the only room that opens a port."""

"""The fault campaign: what hardware, lines, disks and computers do, made to happen many times. `python -m tests.faults 200` runs it at length
and prints the table that stands in DEVELOPERS.md."""

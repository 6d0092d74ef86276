"""A described person on plates and crutches: forces on the cells, and the truth behind them.

Its statics are its own; nothing here uses the program's centre-of-pressure code.
"""

from balance.simulated_person.person import SimulatedPerson, Truth
from balance.simulated_person.scenario import Scenario, read_scenario

__all__ = ["Scenario", "SimulatedPerson", "Truth", "read_scenario"]

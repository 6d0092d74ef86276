"""From masses and counts to a calibration: the fit, what its evidence says of the cell, acceptance, the report."""

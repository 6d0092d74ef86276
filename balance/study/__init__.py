"""Studies: many recordings to one table, on one core, on many, or on a cluster; kept as they come, so that nothing is done twice."""

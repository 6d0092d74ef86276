"""Other laboratories' force-plate tables as recordings of ours: a mapping says what the columns are; marked 'not raw counts'."""

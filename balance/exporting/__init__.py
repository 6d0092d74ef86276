"""Recordings for other people's tools: csv, parquet, BIDS, C3D; one file a format. Each says what it could not carry."""

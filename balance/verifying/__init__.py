"""Does the rig tell the truth: known masses on marked places, and what is wrong where they do not agree."""

"""Does the rig tell the truth: known masses on marked places, what is wrong where they do not agree, the daily minute."""

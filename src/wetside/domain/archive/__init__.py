"""The archive of developed rolls: their numbers, sleeves and densities. Pure."""

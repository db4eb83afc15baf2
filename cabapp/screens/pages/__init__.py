"""The pages behind the parked lock: Set up, Fit-up and Shifts."""

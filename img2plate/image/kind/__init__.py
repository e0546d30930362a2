"""What kind of picture it is, and why: told before anything becomes of it."""

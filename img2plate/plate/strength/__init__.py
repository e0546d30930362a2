"""Will it hold together: a plate looked at as plastic (`finish/` mends it)."""

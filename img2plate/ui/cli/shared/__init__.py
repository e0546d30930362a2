"""What the commands share: how options look, are read and gathered, and how things are told."""

"""What commands say, where that takes more than a few lines."""

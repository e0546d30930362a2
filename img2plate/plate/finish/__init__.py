"""What is done to a plate once its beads are chosen: turned, repeated, joined, edged, hung."""

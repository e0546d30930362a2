"""The proof sheet: variants of one picture side by side, as a picture, as pages and as one page."""

"""House rules: written, checked, tried, switched and taken in."""

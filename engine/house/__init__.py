"""House rules: what one house knows, layered over the packaged knowledge, checked and tried before it counts."""

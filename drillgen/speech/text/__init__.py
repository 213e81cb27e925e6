"""Text to tokens, tokens to breath phrases. See docs/architecture.md."""

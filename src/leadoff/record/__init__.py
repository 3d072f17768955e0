"""See docs/architecture.md."""

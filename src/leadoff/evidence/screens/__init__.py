"""Text-mode pictures: grid, signs with a certainty each, proposals; nothing is believed without the user."""

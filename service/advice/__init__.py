"""The only bridge from the answers of a conversation to the core and back to words."""

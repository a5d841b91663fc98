"""Flow files turned into state machines; knows nothing of irrigation."""

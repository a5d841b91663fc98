"""The commands: one thin file per group."""
def main() -> int: return 0

"""The command line: thin; every command calls one use-case and prints what it answers."""

"""The command line: one module a command, each imported only as far as it is needed."""

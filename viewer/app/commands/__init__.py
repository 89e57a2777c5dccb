"""The sub-commands of the command line, one file each."""

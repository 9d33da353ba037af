"""What `python3 workbook NAME` can do: each module has `main(argv)` and returns the exit code."""

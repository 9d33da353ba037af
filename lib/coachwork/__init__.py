"""Calculations and pages of the workbook. Importing this package imports nothing else."""

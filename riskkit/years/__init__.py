"""A home through the years of a rain record, storm by storm."""

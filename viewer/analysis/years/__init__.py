"""A string against its baseline and over the years: rates, samples, warranty."""

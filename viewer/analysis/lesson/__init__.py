"""Simulated strings as traces, and questions about them."""

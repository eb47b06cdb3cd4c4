"""The pages, read through importlib.resources: no code here."""

"""Classes and groups: what is taught, when, who has a place, and what it takes of the house."""

"""How long things take, as tables for people; ``make bench``.  No test: nothing here fails a run."""

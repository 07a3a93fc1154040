"""What the tables and their columns are called where managers look at them."""

from __future__ import annotations

from typing import Any

from . import booking, chemistry, classes, first

#: table → (what it is called, {field: what its column is called}); an amount ends in _pl, an area in _mm2.
TABLES: dict[str, tuple[Any, dict[str, Any]]] = {**first.TABLES, **booking.TABLES, **chemistry.TABLES, **classes.TABLES}

"""The tables of the chemistry in full: mixes, stock, strips, waste, jobs, alerts."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

TABLES: dict[str, tuple[Any, dict[str, Any]]] = {
    "alert": (
        _("Alerts"),
        {
            "kind": _("What"),
            "bath": _("Bath"),
            "processor": _("Processor"),
            "raised_at": _("Since"),
            "taken_by": _("Taken by"),
            "cleared_at": _("Until"),
        },
    ),
    "container": (
        _("Containers"),
        {"code": _("Code"), "name": _("Container"), "sort": _("Sort"), "capacity_pl": _("Holds"), "stream": _("Waste")},
    ),
    "containerentry": (
        _("Written down of the containers"),
        {
            "at": _("When"),
            "container": _("Container"),
            "event": _("What"),
            "amount_pl": _("Amount"),
            "recorded_by": _("By"),
        },
    ),
    "controlstrip": (
        _("Control strips"),
        {
            "read_at": _("When"),
            "processor": _("Processor"),
            "verdict": _("Verdict"),
            "eye": _("By eye"),
            "recorded_by": _("By"),
        },
    ),
    "job": (
        _("Jobs that recur"),
        {"name": _("Job"), "processor": _("Processor"), "occasion": _("When"), "who": _("Who may")},
    ),
    "jobdone": (
        _("Jobs done"),
        {"at": _("When"), "job": _("Job"), "value": _("Read"), "left_out": _("Left out"), "done_by": _("By")},
    ),
    "lot": (
        _("Lots"),
        {
            "product": _("Product"),
            "code": _("Batch"),
            "amount": _("Amount"),
            "received_on": _("Received"),
            "expires_on": _("Expires"),
            "opened_on": _("Opened"),
            "place": _("Where"),
        },
    ),
    "mix": (
        _("Mixes"),
        {
            "number": _("Label"),
            "recipe": _("Recipe"),
            "made_at": _("When"),
            "made_pl": _("Amount"),
            "container": _("Container"),
            "made_by": _("By"),
        },
    ),
    "mixpart": (
        _("Parts of mixes"),
        {"mix": _("Mix"), "product": _("Product"), "lot": _("Lot"), "asked": _("Asked"), "measured": _("Measured")},
    ),
    "paperclass": (_("Classes of paper"), {"code": _("Code"), "name": _("Paper")}),
    "pickup": (
        _("Waste taken away"),
        {"at": _("When"), "contractor": _("By"), "receipt": _("Receipt"), "keep_until": _("Keep until")},
    ),
    "processoropening": (
        _("Processors opened"),
        {
            "processor": _("Processor"),
            "begun_at": _("Begun"),
            "ready_at": _("Ready"),
            "closed_at": _("Closed"),
            "closed_by": _("Closed by"),
        },
    ),
    "product": (
        _("Products"),
        {
            "code": _("Code"),
            "name": _("Product"),
            "sort": _("Sort"),
            "pack_amount": _("In a pack"),
            "unit": _("Unit"),
            "reorder_at": _("Order again at"),
        },
    ),
    "pumpcalibration": (
        _("Pumps measured"),
        {"at": _("When"), "bath": _("Bath"), "mean_pl": _("A stroke"), "was_pl": _("Before"), "recorded_by": _("By")},
    ),
    "recipe": (_("Recipes"), {"code": _("Code"), "name": _("Recipe"), "use": _("For"), "makes_pl": _("Given for")}),
    "recipelife": (_("Lives of mixes"), {"recipe": _("Recipe"), "state": _("Standing as"), "life_s": _("Seconds")}),
    "recipepart": (
        _("Parts of recipes"),
        {"recipe": _("Recipe"), "position": _("Step"), "product": _("Product"), "amount": _("Amount")},
    ),
    "stockentry": (
        _("Stock used and counted"),
        {"at": _("When"), "lot": _("Lot"), "event": _("What"), "change": _("By how much"), "recorded_by": _("By")},
    ),
    "stripaim": (
        _("Aims of control strips"),
        {
            "processor": _("Processor"),
            "patch": _("Patch"),
            "channel": _("Channel"),
            "reference": _("Reference strip"),
            "correction": _("Correction"),
            "in_force_from": _("In force from"),
        },
    ),
    "stripcase": (
        _("Processors that were out"),
        {"processor": _("Processor"), "opened_at": _("Since"), "held_at": _("Held"), "ended_at": _("Until")},
    ),
    "wastepermit": (
        _("Waste permits"),
        {"number": _("Number"), "issued_by": _("Issued by"), "valid_from": _("From"), "valid_until": _("Until")},
    ),
    "wastestream": (_("Waste streams"), {"code": _("Code"), "name": _("Stream"), "bears_silver": _("Bears silver")}),
}

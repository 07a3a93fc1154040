"""Running a state machine so that a green run is green tomorrow."""

from __future__ import annotations

from typing import Any

from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import RuleBasedStateMachine, run_state_machine_as_test


def run_seeded(machine: type[RuleBasedStateMachine], *, examples: int, steps: int, **given: Any) -> None:
    """``machine`` with these class attributes, always with the same seed; what it finds is raised as it was found."""
    run_state_machine_as_test(
        type(f"{machine.__name__}Here", (machine,), given),
        settings=settings(
            max_examples=examples,
            stateful_step_count=steps,
            deadline=None,
            derandomize=True,
            database=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
            report_multiple_bugs=False,
        ),
    )

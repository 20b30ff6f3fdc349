"""The one door to HiGHS: a programme of 0-1 columns, solved alike on every run.

HiGHS (Huangfu & Hall 2018) is given one thread and keeps its fixed seed, so the same programme has
the same answer; only a deadline can change it. It is imported when first needed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from time import monotonic

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Programme:
    """r rows over c columns of 0 or 1, each row lower ≤ Σ factor · column ≤ upper.

    Attributes:
        starts: Where the entries of each row begin, and how many there are in all, shape (r + 1,).
        columns: The column of each entry.
        factors: The factor of each entry.
        lower: Shape (r,).
        upper: Shape (r,).
    """

    starts: npt.NDArray[np.intp]
    columns: npt.NDArray[np.intp]
    factors: Array
    lower: Array
    upper: Array

    def only(self, keep: npt.NDArray[np.bool_]) -> Programme:
        """The same rows with every other column 0.

        Args:
            keep: Which columns stay and are counted anew, shape (c,).
        """
        entries = keep[self.columns]
        return Programme(
            starts=np.concatenate([[0], np.cumsum(entries)])[self.starts],
            columns=(np.cumsum(keep) - 1)[self.columns[entries]],
            factors=self.factors[entries],
            lower=self.lower,
            upper=self.upper,
        )


class Rows:
    """Rows being collected."""

    def __init__(self) -> None:
        self._columns: list[npt.NDArray[np.intp]] = []
        self._factors: list[Array] = []
        self._limits: list[tuple[float, float]] = []

    def add(
        self, columns: Iterable[int], factors: npt.ArrayLike, lower: float, upper: float
    ) -> None:
        """One more row; one factor may serve all of its columns."""
        own = np.fromiter(columns, dtype=np.intp)
        self._columns.append(own)
        self._factors.append(np.broadcast_to(np.asarray(factors, dtype=np.float64), own.shape))
        self._limits.append((lower, upper))

    def programme(self) -> Programme:
        """All rows so far, at least one."""
        limits = np.array(self._limits)
        return Programme(
            starts=np.cumsum([0, *map(len, self._columns)]),
            columns=np.concatenate(self._columns),
            factors=np.concatenate(self._factors),
            lower=limits[:, 0],
            upper=limits[:, 1],
        )


@dataclass(frozen=True, eq=False)
class Answer:
    """What came of a programme.

    Attributes:
        values: The best columns found, shape (c,); None if there are none.
        bound: Nothing costs less than this.
        finished: Whether the answer is final, rather than stopped by the deadline.
    """

    values: Array | None
    bound: float
    finished: bool


def least(programme: Programme, costs: Array, deadline: float, *, gap: float) -> Answer:
    """The columns of least total cost.

    Neither a solution to begin from nor a bound on the cost is handed in: HiGHS 1.16 may give back
    that solution, or one beyond that bound, as the answer, and neither made it faster.

    Args:
        programme: The rows.
        costs: Of each column, shape (c,).
        deadline: When to stop, by `time.monotonic`.
        gap: How far from the least cost an answer may be.
    """
    remaining = deadline - monotonic()
    if remaining <= 0:
        return Answer(None, -np.inf, False)

    import highspy

    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(costs), len(programme.lower)
    model.col_cost_ = costs
    model.col_lower_, model.col_upper_ = np.zeros(len(costs)), np.ones(len(costs))
    model.integrality_ = [highspy.HighsVarType.kInteger] * len(costs)
    model.row_lower_, model.row_upper_ = programme.lower, programme.upper
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = programme.starts.astype(np.int32)
    model.a_matrix_.index_ = programme.columns.astype(np.int32)
    model.a_matrix_.value_ = programme.factors

    class Quiet(highspy.Highs):
        """HiGHS 1.16 prints its name to the terminal on this call, before an option can be set."""

        def enableCallbacks(self) -> None:  # noqa: N802
            self.setOptionValue("output_flag", False)
            super().enableCallbacks()  # type: ignore[no-untyped-call]

    solver = Quiet()  # type: ignore[no-untyped-call]
    options = {"threads": 1, "time_limit": remaining, "mip_rel_gap": 0.0, "mip_abs_gap": gap}
    for name, value in options.items():
        solver.setOptionValue(name, value)
    solver.passModel(model)
    solver.run()

    status, info = solver.getModelStatus(), solver.getInfo()
    if status == highspy.HighsModelStatus.kInfeasible:
        return Answer(None, np.inf, True)
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    return Answer(
        values=np.array(solver.getSolution().col_value) if found else None,
        bound=info.mip_dual_bound,
        finished=status == highspy.HighsModelStatus.kOptimal,
    )

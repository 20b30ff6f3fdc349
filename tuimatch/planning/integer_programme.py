"""The one door to HiGHS: whole and continuous columns, sparse rows, the least total cost.

    programme = Programme()
    taken = programme.columns(3)                          # each 0 or 1
    slack = programme.columns(1, upper=5.0, whole=False)  # anything from 0 to 5
    programme.row([*taken, *slack], [1, 1, 1, 1], lower=2)
    answer = programme.least([3.0, 1.0, 2.0, 9.0])
    answer.status, answer.values, answer.bound

HiGHS (Huangfu & Hall 2018) is asked for no gap at all, relative or absolute: two aims weighed into
one cost would still hide the smaller one behind its tolerances, so solve for the first aim, add a
row that holds it, and solve for the second. It is given one thread and keeps its fixed seed, so the
same programme has the same answer; only a deadline or a watch can change it. It is imported when
first needed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import inf
from time import monotonic
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# How far a row, or a cost, may be off: HiGHS works to 1e-6 on a row, and sums add up.
TOLERANCE = 1e-5


@dataclass(frozen=True)
class Progress:
    """How far the search has come.

    Attributes:
        cost: Of the best columns so far; infinite while there are none.
        bound: A lower bound on the cost of every solution.
    """

    cost: float
    bound: float


# Looks at the progress and answers whether to go on. HiGHS asks between steps, several times a
# second where steps are short; it must be quick and must not raise.
Watch = Callable[[Progress], bool]


@dataclass(frozen=True, eq=False)
class Answer:
    """What came of a programme.

    Attributes:
        status: "optimal" where nothing costs less than `values`; "infeasible" where no columns keep
            all rows; "stopped" where the time was over, the watch said so, or HiGHS gave up.
        values: The best columns found, whole ones rounded, shape (c,); None if there are none.
        bound: A lower bound on the cost of every solution.
    """

    status: Literal["optimal", "infeasible", "stopped"]
    values: Array | None
    bound: float

    @property
    def proved(self) -> bool:
        """Whether the answer is final."""
        return self.status != "stopped"


class Programme:
    """Columns and rows being collected; it can be solved any number of times, with more between."""

    def __init__(self) -> None:
        self._lower: list[Array] = []
        self._upper: list[Array] = []
        self._whole: list[npt.NDArray[np.bool_]] = []
        self._count = 0
        self._columns: list[Ints] = []
        self._factors: list[Array] = []
        self._limits: list[tuple[float, float]] = []

    def columns(
        self,
        count: int,
        *,
        lower: npt.ArrayLike = 0.0,
        upper: npt.ArrayLike = 1.0,
        whole: bool = True,
    ) -> Ints:
        """More columns, of 0 or 1 unless said otherwise.

        Args:
            count: How many.
            lower: The least each may be; one number for all, or shape (count,).
            upper: The most each may be, likewise.
            whole: Whether only whole numbers will do.

        Returns:
            Their numbers, shape (count,).
        """
        for known, limit in ((self._lower, lower), (self._upper, upper)):
            known.append(np.broadcast_to(np.asarray(limit, dtype=np.float64), (count,)))
        self._whole.append(np.full(count, whole))
        self._count += count
        return np.arange(self._count - count, self._count)

    def row(
        self,
        columns: Iterable[int],
        factors: npt.ArrayLike,
        lower: float = -inf,
        upper: float = inf,
    ) -> None:
        """One more row: lower ≤ Σ factor · column ≤ upper.

        Args:
            columns: Each at most once.
            factors: One for each column, or one number for all.
            lower: The least the sum may be.
            upper: The most it may be.
        """
        own = np.fromiter(columns, dtype=np.intp)
        self._columns.append(own)
        self._factors.append(np.broadcast_to(np.asarray(factors, dtype=np.float64), own.shape))
        self._limits.append((lower, upper))

    def least(
        self,
        costs: npt.ArrayLike,
        *,
        deadline: float = inf,
        watch: Watch | None = None,
    ) -> Answer:
        """The columns of least total cost.

        Neither a solution to begin from nor a bound on the cost is handed in: HiGHS 1.16 may give
        back that solution, or one beyond that bound, as the answer, and neither made it faster.

        Args:
            costs: One for each column, shape (c,); together with the columns' limits they must keep
                the total from falling without end.
            deadline: When to stop, by `time.monotonic`.
            watch: Looks on and may stop it.
        """
        remaining = deadline - monotonic()
        if remaining <= 0:
            return Answer("stopped", None, -inf)

        cost = np.asarray(costs, dtype=np.float64)
        solver = _solver(remaining, watch)
        solver.passModel(self._model(cost))
        solver.run()
        return self._answer(solver, cost)

    def _model(self, cost: Array) -> Any:
        import highspy

        starts, columns, factors, limits = self._sparse()
        kinds = {True: highspy.HighsVarType.kInteger, False: highspy.HighsVarType.kContinuous}
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = len(cost), len(limits)
        model.col_cost_ = cost
        model.col_lower_, model.col_upper_ = map(np.concatenate, (self._lower, self._upper))
        model.integrality_ = [kinds[whole] for whole in np.concatenate(self._whole).tolist()]
        model.row_lower_, model.row_upper_ = limits.T
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_ = starts.astype(np.int32)
        model.a_matrix_.index_ = columns.astype(np.int32)
        model.a_matrix_.value_ = factors
        return model

    def _sparse(self) -> tuple[Ints, Ints, Array, Array]:
        """Where the entries of each row begin, their columns and factors, and the rows' limits."""
        return (
            np.cumsum([0, *map(len, self._columns)]),
            np.concatenate([*self._columns, np.empty(0, dtype=np.intp)]),
            np.concatenate([*self._factors, np.empty(0)]),
            np.array(self._limits).reshape(-1, 2),
        )

    def _answer(self, solver: Any, cost: Array) -> Answer:
        """What HiGHS found, after a look at whether it is true."""
        import highspy

        status, info = solver.getModelStatus(), solver.getInfo()
        kind = highspy.HighsModelStatus
        if status in (kind.kInfeasible, kind.kUnboundedOrInfeasible):
            return Answer("infeasible", None, inf)
        optimal = status == kind.kOptimal
        mixed = np.concatenate(self._whole).any()  # only then is there a bound beside the answer
        bound = info.mip_dual_bound if mixed else info.objective_function_value if optimal else -inf
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return Answer("stopped", None, bound)
        whole = np.concatenate(self._whole)
        values = np.array(solver.getSolution().col_value)
        values[whole] = values[whole].round()
        if not self._kept(values):
            return Answer("stopped", None, bound)
        least = optimal and cost @ values <= bound + TOLERANCE
        return Answer("optimal" if least else "stopped", values, bound)

    def _kept(self, values: Array) -> bool:
        """Whether columns keep all rows."""
        starts, columns, factors, limits = self._sparse()
        rows = np.repeat(np.arange(len(limits)), np.diff(starts))
        sums = np.bincount(rows, weights=factors * values[columns], minlength=len(limits))
        above, below = sums >= limits[:, 0] - TOLERANCE, sums <= limits[:, 1] + TOLERANCE
        return bool((above & below).all())


def _solver(seconds: float, watch: Watch | None) -> Any:
    """A silent HiGHS."""
    import highspy

    class Quiet(highspy.Highs):
        """HiGHS 1.16 prints its name to the terminal on this call, before an option can be set."""

        def enableCallbacks(self) -> None:  # noqa: N802
            self.setOptionValue("output_flag", False)
            super().enableCallbacks()  # type: ignore[no-untyped-call]

    solver = Quiet()  # type: ignore[no-untyped-call]
    options: dict[str, str | float] = {
        "threads": 1,
        "time_limit": seconds,
        "mip_rel_gap": 0.0,
        "mip_abs_gap": 0.0,
        # With it HiGHS 1.16 says of some programmes that no columns keep the rows where some do.
        "presolve": "off",
    }
    for name, value in options.items():
        solver.setOptionValue(name, value)
    if watch is not None:

        def look(event: Any) -> None:
            now = event.data_out
            if not watch(Progress(now.mip_primal_bound, now.mip_dual_bound)):
                event.interrupt()

        solver.cbMipInterrupt += look
    return solver

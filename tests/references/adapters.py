"""The two solvers, each behind the same call: a program, seconds and a start in, values and a bound out."""

import math
import os
import time
from dataclasses import dataclass

import highspy
import numpy
from ortools.sat.python import cp_model

from models import Program

# Costs are whole: a bound within this of a whole number is that number, for all that floating point adds up.
NEAR = 1e-3


@dataclass
class Solved:
    """What a solver said: values where it has a plan, a bound below every plan (None: no plan exists)."""

    values: list | None
    bound: int | None
    seconds: float


class Highs:
    """HiGHS, a branch-and-cut solver for mixed-integer programs; its own number of threads."""

    name = "HiGHS"

    def solve(self, program: Program, limit: float, start: dict) -> Solved:
        number = len(program.cost)
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = number, len(program.rows)
        lp.col_cost_ = numpy.array(program.cost, dtype=numpy.double)
        lp.col_lower_ = numpy.array(program.lower, dtype=numpy.double)
        lp.col_upper_ = numpy.array(program.upper, dtype=numpy.double)
        infinity = highspy.kHighsInf
        lp.row_lower_ = numpy.array([-infinity if low is None else low for _, low, _ in program.rows], numpy.double)
        lp.row_upper_ = numpy.array([infinity if high is None else high for _, _, high in program.rows], numpy.double)
        starts, index, value = [0], [], []
        for terms, _, _ in program.rows:
            index.extend(variable for variable, _ in terms)
            value.extend(factor for _, factor in terms)
            starts.append(len(index))
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = numpy.array(starts, dtype=numpy.int32)
        lp.a_matrix_.index_ = numpy.array(index, dtype=numpy.int32)
        lp.a_matrix_.value_ = numpy.array(value, dtype=numpy.double)
        kinds = highspy.HighsVarType
        lp.integrality_ = [
            kinds.kContinuous if column in program.relaxed else kinds.kInteger for column in range(number)
        ]
        solver = highspy.Highs()
        solver.setOptionValue("output_flag", False)
        solver.setOptionValue("time_limit", float(limit))
        # Optimal means optimal, not within a ten-thousandth.
        solver.setOptionValue("mip_rel_gap", 0.0)
        solver.passModel(lp)
        if start:
            columns = numpy.array(list(start), dtype=numpy.int32)
            solver.setSolution(len(start), columns, numpy.array(list(start.values()), dtype=numpy.double))
        begun = time.perf_counter()
        solver.run()
        seconds = time.perf_counter() - begun
        status, info = solver.getModelStatus(), solver.getInfo()
        if status == highspy.HighsModelStatus.kInfeasible:
            return Solved(None, None, seconds)
        if status not in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kTimeLimit):
            raise RuntimeError(f"HiGHS ended with {status}")
        values = None
        if info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
            values = list(solver.getSolution().col_value)
        bound = info.mip_dual_bound
        return Solved(values, math.ceil(bound - NEAR) if math.isfinite(bound) else 0, seconds)


class CpSat:
    """CP-SAT, a constraint solver; as many workers as there are cores."""

    name = "CP-SAT"

    def solve(self, program: Program, limit: float, start: dict) -> Solved:
        model = cp_model.CpModel()
        columns = [
            model.new_int_var(lower, upper, f"x{column}")
            for column, (lower, upper) in enumerate(zip(program.lower, program.upper))
        ]
        for terms, low, high in program.rows:
            expression = cp_model.LinearExpr.weighted_sum(
                [columns[variable] for variable, _ in terms], [factor for _, factor in terms]
            )
            low = cp_model.INT_MIN if low is None else low
            high = cp_model.INT_MAX if high is None else high
            model.add_linear_constraint(expression, low, high)
        for variable, value in start.items():
            model.add_hint(columns[variable], value)
        if any(program.cost):
            model.minimize(cp_model.LinearExpr.weighted_sum(columns, program.cost))
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = limit
        solver.parameters.num_workers = os.cpu_count() or 1
        begun = time.perf_counter()
        status = solver.solve(model)
        seconds = time.perf_counter() - begun
        if status == cp_model.INFEASIBLE:
            return Solved(None, None, seconds)
        if status == cp_model.UNKNOWN:
            return Solved(None, max(0, math.ceil(solver.best_objective_bound - NEAR)), seconds)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            raise RuntimeError(f"CP-SAT ended with {solver.status_name(status)}")
        values = [solver.value(column) for column in columns]
        bound = math.ceil(solver.best_objective_bound - NEAR) if any(program.cost) else 0
        return Solved(values, bound, seconds)

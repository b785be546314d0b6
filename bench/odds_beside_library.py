#!/usr/bin/env python3
"""The same draws, rows, discs and limits in OpenTURNS, beside odds_bench, on one thread.

Usage: odds_beside_library.py ODDS_BENCH PROJECT_FOLDER

odds_bench writes its program without the steps (screws, formulas) and says what a build of it
costs. Here it is reckoned twice over 100,000 builds by processor time: all normals as one
multivariate sample, all uniforms as one, the rows as one matrix a stage; every normal and uniform
as a marginal of one composed distribution; and every draw as a marginal of its own law. What is
made of the samples is numpy's, whole columns at a time. Prints how many times longer each takes,
and how much of it the sample alone.
"""

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "OPENTURNS_NUM_THREADS"):
    os.environ[name] = "1"

import subprocess
import sys
import tempfile
import time

import numpy as np
import openturns as ot

BUILDS = 100_000
MOST_RECUTS = 8
NORMAL, HALF, UNIFORM, FROM_ZERO, ROUND, FOLDED, DISC, LOGNORMAL, EVENT, WORKED = range(10)
# How many normals and uniforms each law takes.
NORMALS = {NORMAL: 1, HALF: 1, FOLDED: 1, LOGNORMAL: 2, WORKED: 3}
UNIFORMS = {UNIFORM: 1, FROM_ZERO: 1, ROUND: 2, FOLDED: 1, DISC: 2, EVENT: 1}


class Program:
    def __init__(self, path):
        self.draws, self.stages, self.lengths, self.rows = [], [], [], []
        done = 0
        for line in open(path):
            word, *rest = line.split()
            numbers = [float(x) for x in rest[0::2]] if word == "columns" else [float(x) for x in rest]
            if word == "columns":
                self.columns = int(numbers[0])
            elif word == "draw":
                self.draws.append(numbers)
            elif word == "row":
                self.rows.append(numbers)
            elif word == "rest":
                if not self.stages or self.stages[-1][0] != len(self.rows):
                    self.stages.append((len(self.rows), []))
                self.stages[-1][1].append(numbers)
            elif word == "length":
                self.lengths.append(numbers)
        # A matrix a stage, of the rows that are read and the columns that they read.
        self.matrices = []
        for end in [s[0] for s in self.stages] + [len(self.rows)]:
            read = [r for r in range(done, end) if self.rows[r][0] == 1]
            used = sorted({int(c) for r in read for c in self.rows[r][4::2]})
            at = {c: i for i, c in enumerate(used)}
            matrix = np.zeros((len(used), len(read)))
            for k, r in enumerate(read):
                for c, f in zip(self.rows[r][4::2], self.rows[r][5::2]):
                    matrix[at[int(c)], k] += f
            constants = np.array([self.rows[r][1] for r in read])
            self.matrices.append((read, used, matrix, constants))
            done = end


def worked(draw, first, cut, reading, size):
    c, r, low, high, sign = draw[7:12]
    before, value, open_ = r * first, np.zeros(size), np.ones(size, bool)
    for again in range(MOST_RECUTS + 1):
        count = int(open_.sum())
        if again:
            cut, reading = np.random.standard_normal((2, count))
        else:
            cut, reading = cut[open_], reading[open_]
        now = c * cut - before[open_]
        seen = now + r * reading
        value[open_] = now
        before[open_] = r * reading
        still = sign * seen > (high if sign > 0 else -low)
        open_[open_] = still
        if not open_.any():
            break
    return value


def columns_of(program, normals, uniforms, size):
    """Fills the columns from whole arrays of normals and uniforms."""
    x = np.empty((size, program.columns), order="F")
    n = u = 0
    for draw in program.draws:
        law, at = int(draw[0]), int(draw[1])
        N = [normals[:, n + k] for k in range(NORMALS.get(law, 0))]
        U = [uniforms[:, u + k] for k in range(UNIFORMS.get(law, 0))]
        n, u = n + len(N), u + len(U)
        if law == NORMAL:
            x[:, at] = N[0]
        elif law == HALF:
            x[:, at] = np.abs(N[0])
        elif law == UNIFORM:
            x[:, at] = 2 * U[0] - 1
        elif law == FROM_ZERO:
            x[:, at] = U[0]
        elif law in (ROUND, FOLDED, DISC):
            length = np.abs(N[0]) if law == FOLDED else np.sqrt(U[1] if law == DISC else -2 * np.log(U[1]))
            x[:, at] = length * np.cos(2 * np.pi * U[0])
            x[:, at + 1] = length * np.sin(2 * np.pi * U[0])
        elif law == LOGNORMAL:
            x[:, at] = np.exp(draw[4] * (draw[5] * N[0] + draw[6] * N[1]))
        elif law == EVENT:
            chance = draw[4]
            slope = (draw[6] - draw[5]) / chance if chance > 0 else 0
            x[:, at] = np.where(U[0] < chance, draw[5] + slope * U[0], 0)
        elif law == WORKED:
            x[:, at] = worked(draw, N[0], N[1], N[2], size)
    return x


def met(program, x):
    size = len(x)
    values = np.empty((size, len(program.rows)), order="F")
    good = np.ones(size, bool)
    for stage, (read, used, matrix, constants) in enumerate(program.matrices):
        if read:
            values[:, read] = x[:, used] @ matrix + constants
        if stage == len(program.stages):
            break
        for column, rx, ry, room, disc, at_x, at_y in program.stages[stage][1]:
            c, play = int(column), np.maximum(0, values[:, int(room)])
            to_x, to_y = (x[:, int(disc)], x[:, int(disc) + 1]) if disc >= 0 else (at_x, at_y)
            x[:, c] = play * to_x - values[:, int(rx)]
            x[:, c + 1] = play * to_y - values[:, int(ry)]
    for r, row in enumerate(program.rows):
        if row[0] == 1 and (row[2] > -1e299 or row[3] < 1e299):
            good &= (values[:, r] >= row[2]) & (values[:, r] <= row[3])
    for more, a, b, factor, low, high in program.lengths:
        value = factor * np.hypot(values[:, int(a)], values[:, int(b)])
        if more >= 0:
            value += values[:, int(more)]
        good &= (value >= low) & (value <= high)
    return good.mean()


def one_sample(program, size):
    normals = sum(NORMALS.get(int(d[0]), 0) for d in program.draws)
    uniforms = sum(UNIFORMS.get(int(d[0]), 0) for d in program.draws)
    n = np.asarray(ot.Normal(max(1, normals)).getSample(size))
    u = np.asarray(ot.ComposedDistribution([ot.Uniform(0, 1)] * max(1, uniforms)).getSample(size))
    return met(program, columns_of(program, n, u, size))


def composed(program, size):
    marginals = []
    for d in program.draws:
        marginals += [ot.Normal()] * NORMALS.get(int(d[0]), 0)
    normals = len(marginals)
    for d in program.draws:
        marginals += [ot.Uniform(0, 1)] * UNIFORMS.get(int(d[0]), 0)
    sample = np.asarray(ot.ComposedDistribution(marginals).getSample(size))
    return met(program, columns_of(program, sample[:, :normals], sample[:, normals:], size))


def laws_of(draw):
    """Marginals of one draw, as the library has them."""
    law = int(draw[0])
    if law == EVENT:
        chance = draw[4]
        if chance <= 0:
            return [ot.Dirac(0)]
        return [ot.Mixture([ot.Dirac(0), ot.Uniform(draw[5], draw[6])], [1 - chance, chance])]
    if law == LOGNORMAL:
        return [ot.LogNormal(0, draw[4] * np.hypot(draw[5], draw[6]))]
    return {
        NORMAL: [ot.Normal()],
        HALF: [ot.Chi(1)],
        UNIFORM: [ot.Uniform(-1, 1)],
        FROM_ZERO: [ot.Uniform(0, 1)],
        ROUND: [ot.Uniform(0, 1), ot.Rayleigh(1)],
        FOLDED: [ot.Uniform(0, 1), ot.Chi(1)],
        DISC: [ot.Uniform(0, 1), ot.Triangular(0, 1, 1)],
        WORKED: [ot.Normal(), ot.Normal(), ot.Normal()],
    }[law]


def own_laws(program, size):
    marginals = [m for d in program.draws for m in laws_of(d)]
    sample = np.asarray(ot.ComposedDistribution(marginals).getSample(size))
    x = np.empty((size, program.columns), order="F")
    at = 0
    for draw in program.draws:
        law, to = int(draw[0]), int(draw[1])
        own = [sample[:, at + k] for k in range(len(laws_of(draw)))]
        at += len(own)
        if law in (ROUND, FOLDED, DISC):
            x[:, to] = own[1] * np.cos(2 * np.pi * own[0])
            x[:, to + 1] = own[1] * np.sin(2 * np.pi * own[0])
        else:
            x[:, to] = worked(draw, *own, size) if law == WORKED else own[0]
    return met(program, x)


def sample_alone(program, size):
    ot.ComposedDistribution([m for d in program.draws for m in laws_of(d)]).getSample(size)
    return 0


def seconds(work, rounds=3):
    best, answer = float("inf"), 0
    for _ in range(rounds):
        start = time.process_time()
        answer = work()
        best = min(best, time.process_time() - start)
    return best, answer


def main():
    bench, folder = sys.argv[1:3]
    with tempfile.TemporaryDirectory() as scratch:
        path = os.path.join(scratch, "program.txt")
        said = subprocess.run([bench, folder, "--program", path], check=True, capture_output=True, text=True)
        ours = float(said.stdout.splitlines()[-1].split()[0])
        program = Program(path)
    ot.RandomGenerator.SetSeed(1)
    print(f"ours {ours:.0f} ns a build")
    for name, work in (
        ("one sample, one matrix", one_sample),
        ("composed marginals, normals and uniforms", composed),
        ("composed marginals, each its own law", own_laws),
        ("of which the sample", sample_alone),
    ):
        taken, odds = seconds(lambda: work(program, BUILDS))
        theirs = taken / BUILDS * 1e9
        print(f"{name}: {theirs:.0f} ns a build, {theirs / ours:.0f} times as long; all met {odds:.4f}")


main()

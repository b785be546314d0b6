"""The chance that a requirement is met, reckoned by OpenTURNS from the program's sources and forms.

Reads JSON: sources [{law, mean, spread, ...}], forms [{constant, terms: [[source, factor]]}], lower, upper
(null: none), and where the value is not the first form itself: formula and names, one for each form.
Prints the chance and how far it may be off.
"""
import json
import math
import sys

import numpy
import openturns as ot

DRAWS = 1000000


def normal(count):
    return numpy.array(ot.Normal().getSample(count)).ravel()


def uniform(count):
    return numpy.array(ot.Uniform(0, 1).getSample(count)).ravel()


def distribution(source):
    law, mean, spread = source["law"], source["mean"], source["spread"]
    if spread == 0:
        return ot.Dirac(mean)
    if law == "normal":
        return ot.Normal(mean, spread)
    if law == "uniform":
        return ot.Uniform(-spread, spread)
    if law == "from_zero":
        return ot.Uniform(0, spread)
    return None


def worked(source, count):
    """Cut, measured, and cut again while what shows is over the limit on the safe side; eight times at most."""
    cut, reading = source["cut"], source["reading"]
    before = reading * normal(count)
    value = cut * normal(count) - before
    error = reading * normal(count)
    for _ in range(8):
        seen = value + error
        again = seen > source["high"] if source["safe_sign"] > 0 else seen < source["low"]
        fresh = cut * normal(count) - error
        value = numpy.where(again, fresh, value)
        error = numpy.where(again, reading * normal(count), error)
    return value


def draws(source, count):
    law, spread = source["law"], source["spread"]
    if law == "half_normal":
        return source["mean"] + spread * numpy.abs(normal(count))
    if law == "folded":  # one component of a vector of folded normal length
        return spread * numpy.abs(normal(count)) * numpy.sin(2 * math.pi * uniform(count))
    if law == "chip":
        return numpy.where(uniform(count) < spread, 0.02 + 0.08 * uniform(count), 0.0)
    if law == "worked":
        return worked(source, count)
    return numpy.array(distribution(source).getSample(count)).ravel()


def exact(data):
    """By the characteristic function; within what its inversion is off."""
    form = data["forms"][0]
    parts = [distribution(data["sources"][i]) for i, _ in form["terms"]]
    mixture = ot.RandomMixture(parts, [factor for _, factor in form["terms"]], form["constant"])
    below = 0.0 if data["lower"] is None else mixture.computeCDF(data["lower"])
    above = 1.0 if data["upper"] is None else mixture.computeCDF(data["upper"])
    return above - below, 1e-5


def sampled(data):
    ot.RandomGenerator.SetSeed(7)
    drawn = [draws(source, DRAWS) for source in data["sources"]]
    values = {"pi": math.pi, "sqrt": numpy.sqrt}
    for name, form in zip(data["names"], data["forms"]):
        values[name] = form["constant"] + sum(factor * drawn[i] for i, factor in form["terms"])
    value = eval(data["formula"].replace("^", "**"), {"__builtins__": {}}, values)
    inside = numpy.ones(DRAWS, dtype=bool)
    if data["lower"] is not None:
        inside &= value >= data["lower"]
    if data["upper"] is not None:
        inside &= value <= data["upper"]
    chance = float(inside.mean())
    return chance, 2 * math.sqrt(chance * (1 - chance) / DRAWS)


data = json.load(open(sys.argv[1]))
print("%.9f %.9f" % (sampled(data) if data["formula"] else exact(data)))

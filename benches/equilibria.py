#!/usr/bin/env python3
"""The cases of `benches/equilibria.rs` beside a general-purpose library of chemical engineering, in one run:

    python3 benches/equilibria.py

It installs the package `thermo` 0.6.1 with what it needs in a folder that is thrown away, builds and runs the
bench, and prints both times and their ratio. Times are those of work (CPU), not of the clock. It is no part of
the tests.

The library has no search for azeotropes. Beside ours, which looks at the three pairs and at the three together,
stands the plainest search by its activities that sees the same: each pair at 121 compositions; one liquid of all
three from 36 starts; and the line on which two liquids boil together, followed from the pair that parts by solving
its seven equations with scipy's `fsolve` until the vapour lies between the liquids.
"""

import json
import os
import pathlib
import subprocess
import sys
import tempfile
import time
import venv
import warnings

HERE = pathlib.Path(__file__).resolve()
PRESSURE = 101325.0


def shortest(work, least=0.5):
    """The shortest CPU time of one run, of as many as fill half a second, at least three."""
    times = []
    while len(times) < 3 or sum(times) < least:
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def library():
    """Seconds for each case, by the library."""
    import numpy
    from scipy.optimize import brentq, fsolve
    from thermo import ChemicalConstantsPackage, FlashVL, GibbsExcessLiquid, IdealGas
    from thermo.unifac import UNIFAC

    groups = {"ethanol": {1: 1, 2: 1, 14: 1}, "water": {16: 1}, "toluene": {9: 5, 11: 1}}

    def model(names, x):
        return UNIFAC.from_subgroups(T=350.0, xs=x, chemgroups=[groups[name] for name in names])

    def flasher(names, x):
        constants, properties = ChemicalConstantsPackage.from_IDs(names)
        state = {"T": 350.0, "P": PRESSURE, "zs": x}
        liquid = GibbsExcessLiquid(
            VaporPressures=properties.VaporPressures,
            VolumeLiquids=properties.VolumeLiquids,
            HeatCapacityGases=properties.HeatCapacityGases,
            GibbsExcessModel=model(names, x),
            equilibrium_basis="Psat",
            caloric_basis="Psat",
            **state,
        )
        gas = IdealGas(HeatCapacityGases=properties.HeatCapacityGases, **state)
        return FlashVL(constants, properties, liquid=liquid, gas=gas), properties.VaporPressures

    two, three = ["ethanol", "water"], ["toluene", "ethanol", "water"]
    x_two, x_three = [0.3, 0.7], [0.05, 0.9, 0.05]
    flash_two, _ = flasher(two, x_two)
    flash_three, pressures = flasher(three, x_three)
    mixture = model(three, x_three)
    warmer = [350.0]

    def gammas():
        warmer[0] += 1e-6
        return mixture.to_T_xs(warmer[0], x_three).gammas()

    def activities(t, x):
        return numpy.log(mixture.to_T_xs(t, list(x)).gammas()) + numpy.log(x)

    def boils(t, x):
        return sum(numpy.exp(activities(t, x)) * [pressure(t) for pressure in pressures]) / PRESSURE - 1.0

    def pairs():
        """How volatile the first of each pair is to the second where they boil as one liquid."""
        for first, second in ((0, 1), (0, 2), (1, 2)):
            for step in range(121):
                ratio = numpy.exp(0.15 * (step - 60))
                x = numpy.full(3, 1e-12)
                x[first], x[second] = ratio / (1.0 + ratio), 1.0 / (1.0 + ratio)
                brentq(lambda t: boils(t, x), 250.0, 400.0, xtol=1e-6)

    def one_liquid():
        """Liquids of the composition of their vapour; those that part are none, which is not looked at here."""
        def off(unknown):
            x = numpy.exp(numpy.array([unknown[0], unknown[1], 0.0]))
            x, t = x / x.sum(), 100.0 * unknown[2]
            if not 250.0 < t < 450.0:
                return [1e3, 1e3, 1e3]
            return activities(t, x) - numpy.log(x) + numpy.log([pressure(t) / PRESSURE for pressure in pressures])

        for i in range(1, 9):
            for j in range(1, 10 - i):
                k = 10 - i - j
                fsolve(off, [numpy.log(i / k), numpy.log(j / k), 3.5], full_output=True)

    def two_liquids():
        """The line from toluene and water, ethanol growing."""
        def off(unknown, ethanol):
            first, second, t = numpy.abs(unknown[:3]), numpy.abs(unknown[3:6]), 100.0 * unknown[6]
            same = activities(t, first / first.sum()) - activities(t, second / second.sum())
            rest = [first.sum() - 1.0, second.sum() - 1.0, boils(t, first / first.sum()), 0.5 * (first[1] + second[1]) - ethanol]
            return [*same, *rest]

        def beside(point):
            first, second, t = numpy.abs(point[:3]), numpy.abs(point[3:6]), 100.0 * point[6]
            vapour = numpy.exp(activities(t, first)) * [pressure(t) for pressure in pressures]
            there, way = vapour / vapour.sum() - first, second - first
            return there[0] * way[1] - there[1] * way[0]

        def solve(guess, ethanol):
            point, _, found, _ = fsolve(off, guess, args=(ethanol,), full_output=True, xtol=1e-10)
            return point if found == 1 else None

        here, ethanol = numpy.array([1.6e-4, 1e-3, 0.9988, 0.995, 1e-3, 4e-3, 3.575]), 1e-3
        here = solve(here, ethanol)
        before = here
        while ethanol < 0.8:
            onward = ethanol + 0.004
            point = solve(here + 0.9 * (here - before), onward)
            if point is None:
                return None
            if beside(point) * beside(here) < 0.0:
                kept = [here]

                def root(amount):
                    kept[0] = solve(kept[0], amount)
                    return beside(kept[0])

                brentq(root, ethanol, onward, xtol=1e-8)
                return 100.0 * kept[0][6]
            before, here, ethanol = here, point, onward
        return None

    def search():
        pairs()
        one_liquid()
        return two_liquids()

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        t = search()
        searched = shortest(search)
    print(f"library: toluene, ethanol and water boil together at {t - 273.15:.2f} °C" if t else "library: nothing found", file=sys.stderr)
    return {
        "gamma_vector_new_temperature": shortest(gammas),
        "bubble_two": shortest(lambda: flash_two.flash(P=PRESSURE, VF=0, zs=x_two)),
        "bubble_three": shortest(lambda: flash_three.flash(P=PRESSURE, VF=0, zs=x_three)),
        **({"azeotropes_three_two_liquids": searched} if t else {}),
    }


def main():
    if sys.argv[1:] == ["--inside"]:
        print(json.dumps(library()))
        return
    with tempfile.TemporaryDirectory() as folder:
        venv.create(folder, with_pip=True)
        python = os.path.join(folder, "Scripts" if os.name == "nt" else "bin", "python")
        subprocess.run([python, "-m", "pip", "install", "--quiet", "thermo==0.6.1"], check=True)
        theirs = json.loads(subprocess.run([python, str(HERE), "--inside"], check=True, stdout=subprocess.PIPE).stdout)
    bench = ["cargo", "bench", "--quiet", "--bench", "equilibria", "--", "--json"]
    ours = json.loads(subprocess.run(bench, check=True, stdout=subprocess.PIPE, cwd=HERE.parent.parent).stdout.splitlines()[-1])
    print(f"{'':<32} {'library, µs':>14} {'ours, µs':>12} {'times as fast':>14}")
    for name, seconds in theirs.items():
        print(f"{name:<32} {seconds * 1e6:>14.1f} {ours[name] * 1e6:>12.2f} {seconds / ours[name]:>14.0f}")
    flashes, course = theirs["bubble_three"] * 1e4, ours["dried_return"] * 1e3
    print(f"ten flashes of the library: {flashes:.1f} ms; a dried return followed to its end: {course:.1f} ms")


if __name__ == "__main__":
    main()

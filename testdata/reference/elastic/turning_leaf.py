#!/usr/bin/python3
"""A leaf that carries a body which turns, as an elastic solid: its in-plane frequencies.

    turning_leaf.py > turning_leaf.csv

One leaf without fillets between a held face and a cube-like body of 20 mm x 20 mm x the
leaf's width, a thousand times as stiff as the leaf (71.7 GPa, ν 0.33, 2,810 kg/m³ both):
quadratic bricks (C3D20), one through the thickness, 48 along the leaf and 12 across its width, graded
to the clamps; halving them moves frequencies by less than 0.05 %. Solved by CalculiX.
Debian packages: calculix-ccx python3-numpy.
"""
import os
import subprocess
import sys
import tempfile

import numpy as np

import solid_plate

YOUNG, POISSON, DENSITY = 71700.0, 0.33, 2.81e-9
BODY = 20.0


def solve(length, width, thickness, along=48, across=12):
    u = np.linspace(0, 1, along + 1)
    leaf = length * (0.5 - 0.5 * np.cos(np.pi * u)) * 0.5 + length * u * 0.5
    xs = np.concatenate([leaf, length + BODY * np.arange(1, 5) / 4])
    ys = np.array([-BODY / 2, -thickness / 2, thickness / 2, BODY / 2])
    w = np.linspace(0, 1, across + 1)
    zs = width * ((0.5 - 0.5 * np.cos(np.pi * w)) * 0.5 + w * 0.5)
    numbers, coordinates, elements = {}, [], [[], []]

    def node(i, j, k):
        if (i, j, k) not in numbers:
            numbers[i, j, k] = len(numbers) + 1
            at = lambda a, n: (a[n // 2] + a[(n + 1) // 2]) / 2
            coordinates.append((at(xs, i), at(ys, j), at(zs, k)))
        return numbers[i, j, k]

    for i in range(len(xs) - 1):
        for j in range(3) if i >= along else [1]:
            for k in range(across):
                a, b, c = 2 * i, 2 * j, 2 * k
                order = [(0, 0, 0), (2, 0, 0), (2, 2, 0), (0, 2, 0), (0, 0, 2), (2, 0, 2), (2, 2, 2), (0, 2, 2),
                         (1, 0, 0), (2, 1, 0), (1, 2, 0), (0, 1, 0), (1, 0, 2), (2, 1, 2), (1, 2, 2), (0, 1, 2),
                         (0, 0, 1), (2, 0, 1), (2, 2, 1), (0, 2, 1)]
                elements[i >= along].append([node(a + p, b + q, c + r) for p, q, r in order])
    with tempfile.TemporaryDirectory() as folder:
        with open(os.path.join(folder, "leaf.inp"), "w") as f:
            f.write("*NODE, NSET=ALL\n" + "".join(f"{n + 1}, {x:.9g}, {y:.9g}, {z:.9g}\n" for n, (x, y, z) in enumerate(coordinates)))
            e = 0
            for part, name in enumerate(("LEAF", "BODY")):
                f.write(f"*ELEMENT, TYPE=C3D20, ELSET={name}\n")
                for nodes in elements[part]:
                    e += 1
                    f.write(f"{e}, " + ", ".join(map(str, nodes[:12])) + ",\n" + ", ".join(map(str, nodes[12:])) + "\n")
                f.write(f"*MATERIAL, NAME={name}\n*ELASTIC\n{YOUNG * (1, 1000)[part]}, {POISSON}\n*DENSITY\n{DENSITY}\n*SOLID SECTION, ELSET={name}, MATERIAL={name}\n")
            f.write("*NSET, NSET=HELD\n" + "".join(f"{n},\n" for (i, _, _), n in numbers.items() if i == 0))
            f.write("*NSET, NSET=END\n" + "".join(f"{n},\n" for (i, _, _), n in numbers.items() if i == 2 * len(xs) - 2))
            f.write("*BOUNDARY\nHELD, 1, 3\n*STEP\n*FREQUENCY\n8\n*NODE PRINT, NSET=END\nU\n*END STEP\n")
        run = subprocess.run(["ccx", "-i", "leaf"], cwd=folder, capture_output=True, text=True)
        if "Job finished" not in run.stdout:
            sys.exit(run.stdout[-3000:] + run.stderr)
        return frequencies(os.path.join(folder, "leaf.dat"))[:2]


def frequencies(path):
    """Those of modes that move the body's end across the leaf: not in torsion, not along the width."""
    hz, shapes, table = [], [], False
    for line in open(path):
        words = line.split()
        if "E I G E N V A L U E" in line:
            table = True
        elif "displacements" in line:
            shapes.append([])
            table = False
        elif "P A R T I C I P A T I O N" in line or "E F F E C T I V E" in line or "T O T A L" in line:
            table = False
        elif table and len(words) == 5 and words[0].isdigit():
            hz.append(float(words[3]))
        elif shapes and not table and len(words) == 4 and words[0].isdigit():
            shapes[-1].append([solid_plate.value(w) for w in words[1:]])
    return [f for f, u in zip(hz, map(np.array, shapes)) if abs(u[:, 1].mean()) > 0.3 * np.abs(u).max()]


if __name__ == "__main__":
    print("length_m,thickness_m,width_m,youngs_modulus_pa,poisson,density_kg_m3,body_m,first_hz,second_hz")
    for length, width, thickness in ((48, 25, 0.5), (60, 12, 0.4), (40, 30, 1), (80, 20, 0.6)):
        first, second = solve(length, width, thickness)
        print(f"{length / 1e3},{thickness / 1e3},{width / 1e3},{YOUNG * 1e6:g},{POISSON},{DENSITY * 1e12:g},{BODY / 1e3},{first:.5g},{second:.5g}", flush=True)

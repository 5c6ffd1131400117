#!/usr/bin/python3
"""Solve members with a row of pockets as elastic solids.

A cantilever of width W (in the plate), depth b (the plate's thickness) with n
pockets of w x l, corners of 1 mm, one per pitch, is held at one end and loaded at
the other. Each load's motion of the end is divided by that of the same member
without pockets, solved on the same kind of mesh: axial, bend (end turned by a
moment in the plane), shift (end moved by a force in the plane, free to turn), lift
(moved by a force out of the plane) and twist. Prints one line per member.

Debian packages: python3-gmsh python3-numpy calculix-ccx. A minute in all.
"""
import math
import os
import subprocess
import sys
import tempfile

import gmsh
import numpy as np

MEMBERS = [  # W, b, w, l, pitch, n, mm
    (8, 25, 2, 9.5, 12.5, 5),
    (8, 16, 4, 6, 8, 8),
    (14, 25, 8, 8, 13, 6),
    (12, 16, 8, 10, 12, 5),
    (20, 25, 14, 14, 17, 4),
]
E, NU = 71700.0, 0.33


def mesh(W, w, l, pitch, n, pockets):
    gmsh.initialize()
    gmsh.option.setNumber("General.Terminal", 0)
    occ = gmsh.model.occ
    length = n * pitch
    bar = occ.addRectangle(0, -W / 2, 0, length, W)
    if pockets:
        holes = [(2, occ.addRectangle((k + 0.5) * pitch - l / 2, -w / 2, 0, l, w, roundedRadius=min(1, w / 2 - 1e-6))) for k in range(n)]
        occ.cut([(2, bar)], holes)
    occ.synchronize()
    gmsh.option.setNumber("Mesh.MeshSizeMax", min(1.5, W / 8))
    gmsh.option.setNumber("Mesh.MeshSizeFromCurvature", 12)
    gmsh.model.mesh.generate(2)
    gmsh.model.mesh.setOrder(2)
    tags, coords, _ = gmsh.model.mesh.getNodes(2, includeBoundary=True)
    unique, first = np.unique(tags, return_index=True)
    xy = coords.reshape(-1, 3)[first][:, :2]
    number = {int(t): i for i, t in enumerate(unique)}
    triangles = np.array([number[int(t)] for t in gmsh.model.mesh.getElementsByType(9)[1]]).reshape(-1, 6)
    gmsh.finalize()
    return xy, triangles, length


def solve(xy, triangles, length, b, layers=3):
    corner = np.zeros(len(xy), bool)
    corner[triangles[:, :3]] = True
    ids = -np.ones((2 * layers + 1, len(xy)), int)
    count = 0
    for level in range(2 * layers + 1):
        here = np.ones(len(xy), bool) if level % 2 == 0 else corner
        ids[level, here] = count + 1 + np.arange(here.sum())
        count += here.sum()
    z = b * (np.arange(2 * layers + 1) / (2 * layers) - 0.5)
    at = {ids[k, i]: (xy[i, 0], xy[i, 1], z[k]) for k in range(2 * layers + 1) for i in np.flatnonzero(ids[k] > 0)}
    with tempfile.TemporaryDirectory() as folder:
        with open(os.path.join(folder, "m.inp"), "w") as f:
            f.write("*NODE, NSET=ALL\n" + "".join(f"{n}, {p[0]:.9g}, {p[1]:.9g}, {p[2]:.9g}\n" for n, p in at.items()))
            # The end turns as one: a node of its own carries the loads.
            f.write(f"{count + 1}, {length:.9g}, 0, 0\n{count + 2}, {length:.9g}, 0, 0\n*ELEMENT, TYPE=C3D15, ELSET=M\n")
            e = 0
            for k in range(layers):
                low, mid, high = ids[2 * k], ids[2 * k + 1], ids[2 * k + 2]
                for t in triangles:
                    e += 1
                    n = [*low[t[:3]], *high[t[:3]], *low[t[3:]], *high[t[3:]], *mid[t[:3]]]
                    f.write(f"{e}, " + ", ".join(map(str, n[:10])) + ",\n" + ", ".join(map(str, n[10:])) + "\n")
            for name, x in (("ROOT", 0), ("END", length)):
                f.write(f"*NSET, NSET={name}\n" + "".join(f"{n},\n" for n, p in at.items() if abs(p[0] - x) < 1e-6))
            f.write(f"*NSET, NSET=TIP\n{count + 1}, {count + 2}\n*RIGID BODY, NSET=END, REF NODE={count + 1}, ROT NODE={count + 2}\n")
            f.write(f"*MATERIAL, NAME=A\n*ELASTIC\n{E}, {NU}\n*SOLID SECTION, ELSET=M, MATERIAL=A\n*BOUNDARY\nROOT, 1, 3\n")
            for node, axis in ((1, 1), (2, 3), (1, 2), (1, 3), (2, 1)):
                f.write(f"*STEP\n*STATIC\n*CLOAD, OP=NEW\n{count + node}, {axis}, 1.\n*NODE PRINT, NSET=TIP\nU\n*END STEP\n")
        run = subprocess.run(["ccx", "-i", "m"], cwd=folder, capture_output=True, text=True)
        if "Job finished" not in run.stdout:
            sys.exit(run.stdout[-3000:])
        rows = [line.split() for line in open(os.path.join(folder, "m.dat")) if len(line.split()) == 4]
    u = np.array(rows, float).reshape(5, 2, 4)[:, :, 1:]
    return u[0, 0, 0], u[1, 1, 2], u[2, 0, 1], u[3, 0, 2], u[4, 1, 0]


def main():
    print("width,depth,pocket_width,pocket_length,pitch,pockets,axial,bend,shift,lift,twist")
    for W, b, w, l, pitch, n in MEMBERS:
        open_, solid = (np.array(solve(*mesh(W, w, l, pitch, n, k), b)) for k in (True, False))
        print(",".join(f"{v:g}" for v in (W, b, w, l, pitch, n)) + "," + ",".join(f"{v:.4f}" for v in open_ / solid), flush=True)


if __name__ == "__main__":
    main()

#!/usr/bin/python3
"""Displace a drawn plate as one elastic solid with large deflections.

    displaced.py FLEXWRIGHT BRIEF --force N [--set NAME=VALUE ...] [--json FILE]

The mesh is that of solid_plate.py. A force along x, spread over the nodes within 3 mm of
arm-1's actuator point, is applied in steps by CalculiX (NLGEOM), the ring of the frame
held. Printed: mean motions along x and y of the stage, and of such patches at the four
arms' actuator points (of idle arms: the middle of their backs), under a thousandth of the
force, times a thousand, and under all of it. Beside them what the program has under the same force,
solved on the assembly that it exports.

Debian packages: python3-gmsh python3-ezdxf python3-numpy calculix-ccx.
"""
import argparse
import json
import os
import re
import subprocess
import sys
import tempfile

import numpy as np

import solid_plate


def solve(folder, xy, triangles, depth, material, ring, half_stage, points, force):
    half = np.abs(xy).max()
    held = np.abs(xy).max(axis=1) > half - ring - 1e-6
    triangles = triangles[~held[triangles].all(axis=1)]
    corner = np.zeros(len(xy), bool)
    corner[triangles[:, :3]] = True
    used = np.zeros(len(xy), bool)
    used[triangles] = True
    ids = -np.ones((3, len(xy)), int)
    count = 0
    for level in range(3):
        here = used if level % 2 == 0 else corner
        ids[level, here] = count + 1 + np.arange(here.sum())
        count += here.sum()
    sets = {"STAGE": (np.abs(xy).max(axis=1) <= half_stage + 1e-6) & used}
    for k, point in enumerate(points):
        sets[f"ARM{k + 1}"] = (np.hypot(*(xy - point).T) < 3) & used
    nodes = {name: ids[:, where][ids[:, where] > 0] for name, where in sets.items()}
    with open(os.path.join(folder, "plate.inp"), "w") as f:
        f.write("*NODE, NSET=ALL\n")
        for level in range(3):
            z = depth * (level / 2 - 0.5)
            for i in np.flatnonzero(ids[level] > 0):
                f.write(f"{ids[level, i]}, {xy[i, 0]:.9g}, {xy[i, 1]:.9g}, {z:.9g}\n")
        f.write("*ELEMENT, TYPE=C3D15, ELSET=PLATE\n")
        low, mid, high = ids
        for e, t in enumerate(triangles):
            n = [*low[t[:3]], *high[t[:3]], *low[t[3:]], *high[t[3:]], *mid[t[:3]]]
            f.write(f"{e + 1}, " + ", ".join(map(str, n[:10])) + ",\n" + ", ".join(map(str, n[10:])) + "\n")
        for name, list_ in {**nodes, "HELD": ids[:, held & used][ids[:, held & used] > 0]}.items():
            f.write(f"*NSET, NSET={name}\n" + "".join(f"{n},\n" for n in list_))
        young, poisson, _ = material
        f.write(f"*MATERIAL, NAME=M\n*ELASTIC\n{young}, {poisson}\n*SOLID SECTION, ELSET=PLATE, MATERIAL=M\n*BOUNDARY\nHELD, 1, 3\n")
        for step, load in (("*STATIC", force / 1000), ("*STATIC\n0.34, 1.", force)):
            f.write(f"*STEP, NLGEOM\n{step}\n*CLOAD, OP=NEW\nARM1, 1, {load / len(nodes['ARM1']):.12g}\n")
            for name in nodes:
                f.write(f"*NODE PRINT, NSET={name}, FREQUENCY=1000\nU\n")
            f.write("*END STEP\n")
    run = subprocess.run(["ccx", "-i", "plate"], cwd=folder, capture_output=True, text=True)
    if "Job finished" not in run.stdout:
        sys.exit(run.stdout[-3000:] + run.stderr)
    means, name = [{}, {}], None
    for line in open(os.path.join(folder, "plate.dat")):
        if "displacements" in line:
            name = re.search(r"set (\S+)", line).group(1)
            step = 0 if name not in means[0] else 1
            means[step][name] = []
        elif name and len(words := line.split()) == 4:
            means[step][name].append([solid_plate.value(w) for w in words[1:3]])
    return count, [{name: np.mean(rows, axis=0) for name, rows in m.items()} for m in means]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("flexwright")
    parser.add_argument("brief")
    parser.add_argument("--set", action="append", default=[])
    parser.add_argument("--force", type=float, required=True, help="along x, N")
    parser.add_argument("--blade", type=float, default=1.6)
    parser.add_argument("--body", type=float, default=7.0)
    parser.add_argument("--json")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        shown, lines = solid_plate.design(args, folder)
        p = shown["parameters"]
        listed = {m["name"]: m for m in json.loads(solid_plate.program(args, "materials", "--json"))}[shown["material"]]
        material = (listed["youngs_modulus_pa"] / 1e6, listed["poisson_ratio"], 0)
        path = os.path.join(folder, "plate.json")
        sets = [word for value in args.set for word in ("--set", value)]
        solid_plate.program(args, "show", args.brief, "--json", "--assembly", path, *sets)
        with open(path) as f:
            assembly = json.load(f)
        arm = next(b for b in assembly["bodies"] if b["name"] == "arm-1")
        reach = 1e3 * abs(assembly["actuators"][0].get("point_m", arm["position_m"])[0])
        points = np.array([[-reach, 0], [0, -reach], [reach, 0], [0, reach]])
        bodies = {b["name"]: b for b in assembly["bodies"]}
        # the force acts at the actuator's point, loads at a body's origin
        rows = []
        for load in (args.force / 1000, args.force):
            assembly["loads"] = [{"body": "arm-1", "axis": "x", "value": load}, {"body": "arm-1", "axis": "yaw", "value": load * arm["position_m"][1]}]
            with open(path, "w") as f:
                json.dump(assembly, f)
            moved = json.loads(solid_plate.program(args, "solve", path, "--json"))["positions"][0]["bodies"]
            row = {"STAGE": moved["stage"][:2]}
            for k in range(4):
                x, y, yaw = moved[f"arm-{k + 1}"]
                dx, dy = points[k] / 1e3 - bodies[f"arm-{k + 1}"]["position_m"][:2]
                row[f"ARM{k + 1}"] = [x - yaw * dy - yaw * yaw / 2 * dx, y + yaw * dx - yaw * yaw / 2 * dy]
            rows.append({name: 1e3 * np.array(v) for name, v in row.items()})
        xy, triangles = solid_plate.mesh(lines, p["fillet_radius_mm"], args.blade * min(p["blade_thickness_mm"], p["ground_blade_thickness_mm"]), args.body)
        nodes, solid = solve(folder, xy, triangles, p["blade_width_mm"], material, p["frame_width_mm"], p["stage_half_size_mm"], points, args.force)
    print(f"{nodes} nodes")
    answer = {"nodes": int(nodes), "force_n": args.force, "set": args.set}
    for k, (name, scale) in enumerate((("small", 1000), ("large", 1))):
        answer[name] = {}
        for what in solid[k]:
            a, b = scale * solid[k][what], scale * rows[k][what]
            answer[name][what.lower()] = [round(float(v), 7) for v in a]
            print(f"{name:6}{what:6} solid {a[0]:12.6f}{a[1]:12.6f}   program {b[0]:12.6f}{b[1]:12.6f} mm")
    if args.json:
        with open(args.json, "w") as f:
            json.dump(answer, f)
            f.write("\n")


if __name__ == "__main__":
    main()

#!/usr/bin/python3
"""Mesh a drawn plate as one elastic solid and compare it with the program.

    solid_plate.py FLEXWRIGHT BRIEF [--set NAME=VALUE ...] [--json FILE]

The plate is what `flexwright draw` writes as DXF: its contours are meshed with
quadratic triangles (gmsh), extruded over the plate's thickness into quadratic
prisms and solved by CalculiX, the outer ring of the frame (its width) held, all
else elastic, at rest. Compared: natural frequencies in and out of the plane,
actuators free, and the stiffness of the stage along z (a force spread evenly over
its nodes, over their mean deflection). Nothing may be mounted on the plate.

Debian packages: python3-gmsh python3-ezdxf python3-numpy calculix-ccx. Some
100,000 nodes: 4 GB and several minutes on one core.
"""
import argparse
import json
import math
import os
import re
import subprocess
import sys
import tempfile

import ezdxf
import gmsh
import numpy as np


def program(args, *more):
    text = subprocess.run([args.flexwright, *more], capture_output=True, text=True)
    if not text.stdout:
        sys.exit(text.stderr)
    return text.stdout


def design(args, folder):
    """What the program computes at rest, and the plate's contours, mm."""
    sets = [word for value in args.set for word in ("--set", value)]
    shown = json.loads(program(args, "show", args.brief, "--json", *sets))
    path = os.path.join(folder, "plate.dxf")
    drawn = subprocess.run([args.flexwright, "draw", args.brief, "--dxf", path, *sets], capture_output=True, text=True)
    if drawn.returncode:
        sys.exit(drawn.stderr)
    lines = []
    for e in ezdxf.readfile(path).modelspace():
        if e.dxftype() == "LWPOLYLINE" and e.dxf.layer in ("CUT_OUTER", "CUT_INNER"):
            lines.append((e.dxf.layer == "CUT_OUTER", [tuple(v) for v in e.get_points("xyb")]))
        elif e.dxftype() == "CIRCLE" and e.dxf.layer in ("PAYLOAD_HOLES", "MOUNTING_HOLES"):
            x, y, r = e.dxf.center.x, e.dxf.center.y, e.dxf.radius
            lines.append((False, [(x - r, y, 1), (x + r, y, 1)]))
    lines.sort(key=lambda line: not line[0])
    return shown, lines


def mesh(lines, fillet, blade, body):
    """Quadratic triangles of the plate: nodes (x, y) and elements of six."""
    gmsh.initialize()
    gmsh.option.setNumber("General.Terminal", 0)
    geo = gmsh.model.geo
    loops = []
    for _, points in lines:
        tags, sizes = [], []
        for i, (x, y, bulge) in enumerate(points):
            fine = False
            for b, (px, py), (qx, qy) in ((bulge, (x, y), points[(i + 1) % len(points)][:2]),
                                          (points[i - 1][2], points[i - 1][:2], (x, y))):
                if b:
                    radius = math.hypot(qx - px, qy - py) / 2 / math.sin(2 * math.atan(abs(b)))
                    fine = fine or abs(radius - fillet) < 1e-6
            sizes.append(blade if fine else min(body, 3.0 if bulge or points[i - 1][2] else body))
            tags.append(geo.addPoint(x, y, 0, sizes[-1]))
        curves = []
        for i, (x, y, bulge) in enumerate(points):
            a, b = tags[i], tags[(i + 1) % len(points)]
            if not bulge:
                curves.append(geo.addLine(a, b))
                continue
            (qx, qy, _), angle = points[(i + 1) % len(points)], 4 * math.atan(bulge)
            h = 1 / (2 * math.tan(angle / 2))
            cx, cy = (x + qx) / 2 - (qy - y) * h, (y + qy) / 2 + (qx - x) * h
            parts = max(1, math.ceil(abs(angle) / 1.6))
            centre, start = geo.addPoint(cx, cy, 0), math.atan2(y - cy, x - cx)
            radius, last = math.hypot(x - cx, y - cy), a
            for k in range(1, parts + 1):
                at = start + angle * k / parts
                end = b if k == parts else geo.addPoint(cx + radius * math.cos(at), cy + radius * math.sin(at), 0, sizes[i])
                curves.append(geo.addCircleArc(last, centre, end))
                last = end
        loops.append(geo.addCurveLoop(curves))
    geo.addPlaneSurface(loops)
    geo.synchronize()
    gmsh.option.setNumber("Mesh.Algorithm", 6)
    gmsh.model.mesh.generate(2)
    gmsh.model.mesh.setOrder(2)
    tags, coords, _ = gmsh.model.mesh.getNodes(2, includeBoundary=True)
    coords = coords.reshape(-1, 3)[:, :2]
    unique, first = np.unique(tags, return_index=True)
    number = {int(t): i for i, t in enumerate(unique)}
    _, elements = gmsh.model.mesh.getElementsByType(9, -1)[:2]
    triangles = np.array([number[int(t)] for t in elements]).reshape(-1, 6)
    gmsh.finalize()
    xy = coords[first]
    turn = np.cross(xy[triangles[:, 1]] - xy[triangles[:, 0]], xy[triangles[:, 2]] - xy[triangles[:, 0]])
    triangles[turn < 0] = triangles[turn < 0][:, [0, 2, 1, 5, 4, 3]]
    return xy, triangles


def solve(folder, xy, triangles, depth, layers, material, ring, half_stage, modes):
    half = np.abs(xy).max()
    held = np.abs(xy).max(axis=1) > half - ring - 1e-6
    triangles = triangles[~held[triangles].all(axis=1)]
    corner = np.zeros(len(xy), bool)
    corner[triangles[:, :3]] = True
    used = np.zeros(len(xy), bool)
    used[triangles] = True
    ids = -np.ones((2 * layers + 1, len(xy)), int)
    count = 0
    for level in range(2 * layers + 1):
        here = used if level % 2 == 0 else corner
        ids[level, here] = count + 1 + np.arange(here.sum())
        count += here.sum()
    stage = (np.abs(xy).max(axis=1) <= half_stage + 1e-6) & used
    stage_nodes = ids[:, stage][ids[:, stage] > 0]
    middle = ids[layers, used & ~held]
    middle = middle[middle > 0][::11]
    with open(os.path.join(folder, "plate.inp"), "w") as f:
        f.write("*NODE, NSET=ALL\n")
        for level in range(2 * layers + 1):
            z = depth * (level / (2 * layers) - 0.5)
            for i in np.flatnonzero(ids[level] > 0):
                f.write(f"{ids[level, i]}, {xy[i, 0]:.9g}, {xy[i, 1]:.9g}, {z:.9g}\n")
        f.write("*ELEMENT, TYPE=C3D15, ELSET=PLATE\n")
        e = 0
        for k in range(layers):
            low, mid, high = ids[2 * k], ids[2 * k + 1], ids[2 * k + 2]
            for t in triangles:
                e += 1
                n = [*low[t[:3]], *high[t[:3]], *low[t[3:]], *high[t[3:]], *mid[t[:3]]]
                f.write(f"{e}, " + ", ".join(map(str, n[:10])) + ",\n" + ", ".join(map(str, n[10:])) + "\n")
        for name, nodes in (("HELD", ids[:, held & used][ids[:, held & used] > 0]), ("STAGE", stage_nodes), ("MIDDLE", middle)):
            f.write(f"*NSET, NSET={name}\n" + "".join(f"{n},\n" for n in nodes))
        young, poisson, density = material
        f.write(f"*MATERIAL, NAME=M\n*ELASTIC\n{young}, {poisson}\n*DENSITY\n{density}\n*SOLID SECTION, ELSET=PLATE, MATERIAL=M\n")
        f.write("*BOUNDARY\nHELD, 1, 3\n")
        f.write(f"*STEP\n*STATIC\n*CLOAD\nSTAGE, 3, {1 / len(stage_nodes):.12g}\n*NODE PRINT, NSET=STAGE\nU\n*END STEP\n")
        f.write(f"*STEP\n*FREQUENCY\n{modes}\n*NODE PRINT, NSET=MIDDLE\nU\n*END STEP\n")
    run = subprocess.run(["ccx", "-i", "plate"], cwd=folder, capture_output=True, text=True)
    if "Job finished" not in run.stdout:
        sys.exit(run.stdout[-3000:] + run.stderr)
    return count, read(os.path.join(folder, "plate.dat"))


def value(word):
    """A number as Fortran writes it: 5.1-142 has no room for its E."""
    return float(re.sub(r"(\d)([-+]\d+)$", r"\1E\2", word)) if "E" not in word else float(word)


def read(path):
    """Mean deflection of the stage along z, frequencies in and out of the plane."""
    blocks, frequencies, block, table = [], [], None, False
    number = re.compile(r"[-+]?\d+\.\d*E[-+]?\d+|[-+]?\d+")
    for line in open(path):
        if "displacements" in line:
            block, table = [], False
            blocks.append(block)
        elif "E I G E N V A L U E" in line:
            block, table = None, True
        elif "P A R T I C I P A T I O N" in line or "E F F E C T I V E" in line or "T O T A L" in line:
            block, table = None, False
        elif block is not None or table:
            words = line.split()
            if block is not None and len(words) == 4:
                block.append([value(w) for w in words[1:]])
            elif table and len(words) == 5 and number.fullmatch(words[0]):
                frequencies.append(float(words[3]))
    planar, vertical = [], []
    for hz, shape in zip(frequencies, blocks[1:]):
        u = np.array(shape)
        (vertical if np.abs(u[:, 2]).max() > np.abs(u[:, :2]).max() else planar).append(hz)
    return np.array(blocks[0])[:, 2].mean(), planar, vertical


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("flexwright")
    parser.add_argument("brief")
    parser.add_argument("--set", action="append", default=[])
    parser.add_argument("--body", type=float, default=7.0, help="size of elements in bodies, mm")
    parser.add_argument("--blade", type=float, default=1.6, help="size of elements along blades, in thicknesses")
    parser.add_argument("--layers", type=int, default=2)
    parser.add_argument("--json", help="write what the solid gives to a file")
    parser.add_argument("--modes", type=int, default=22)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        shown, lines = design(args, folder)
        p = shown["parameters"]
        if any(v for k, v in p.items() if k.endswith("added_mass_kg")):
            sys.exit("something is mounted on this plate")
        listed = {m["name"]: m for m in json.loads(program(args, "materials", "--json"))}[shown["material"]]
        material = (listed["youngs_modulus_pa"] / 1e6, listed["poisson_ratio"], listed["density_kg_m3"] * 1e-12)
        xy, triangles = mesh(lines, p["fillet_radius_mm"], args.blade * min(p["blade_thickness_mm"], p["ground_blade_thickness_mm"]), args.body)
        nodes, (deflection, planar, vertical) = solve(folder, xy, triangles, p["blade_width_mm"], args.layers, material,
                                                      p["frame_width_mm"], p["stage_half_size_mm"], args.modes)
    rest = next(q for q in shown["poses"] if q["x_m"] == 0 and q["y_m"] == 0)
    if args.json:
        with open(args.json, "w") as f:
            json.dump({"nodes": int(nodes), "kz_n_per_mm": round(1 / deflection, 2),
                       "in_plane_hz": [round(v, 2) for v in planar], "out_of_plane_hz": [round(v, 2) for v in vertical]}, f)
            f.write("\n")
    print(f"{nodes} nodes")
    print(f"{'':24}{'solid':>10}{'program':>10}{'difference':>12}")
    row = lambda name, solid, own: print(f"{name:24}{solid:10.2f}{own:10.2f}{100 * (own / solid - 1):+10.2f} %")
    for i, (a, b) in enumerate(zip(planar, rest["in_plane_hz"])):
        row(f"in plane {i + 1}, Hz", a, b)
    for i, (a, b) in enumerate(zip(vertical, rest["out_of_plane_hz"])):
        row(f"out of plane {i + 1}, Hz", a, b)
    supports = rest["supports"]
    stage = supports.get("stage", supports)
    row("stage along z, N/mm", 1 / deflection, stage["z_n_per_m"] / 1e3)


if __name__ == "__main__":
    main()

"""The built stage by an estimator from outside: SciPy's least_squares on the exported assembly.
fit_check.py FLEXWRIGHT ASSEMBLY.json PROBLEM.json -> JSON {x, sigma, chi_square}. The problem: prior [n] of thickness of all blades (m),
modulus (relative), mass on the stage (kg), thickness of the blades that end on one guide (m); guide; size of what is on the stage (m); readings [{kind, at, axis or rank, value, sigma}], SI."""
import json, subprocess, sys, copy, os, tempfile
import numpy as np
from scipy.optimize import least_squares
program, nominal, problem = sys.argv[1], json.load(open(sys.argv[2])), json.load(open(sys.argv[3]))
prior, guide, size, readings = np.array(problem["prior"]), problem["guide"], problem["size"], problem["readings"]
places = sorted({tuple(r["at"]) for r in readings if "at" in r})
path = os.path.join(tempfile.mkdtemp(), "part.json")
def part(x):
    a = copy.deepcopy(nominal)
    for b in a["blades"]:
        b["thickness_m"] += x[0] + (x[3] if guide in (b["from"], b["to"]) else 0)
        b["youngs_modulus_pa"] *= 1 + x[1]
    for b in a["bodies"]:
        if b["name"] == a["stage"]:  # an even disc, thin
            b["mass_kg"] += x[2]
            b["inertia_kg_m2"] = [i + x[2]*size**2/d for i, d in zip(b["inertia_kg_m2"], (16, 16, 8))]
    return a
def residuals(z):
    a = part(z*prior)
    json.dump(a, open(path, "w"))
    out = subprocess.run([program, "solve", path, "--json", "--modes", "6"] + [f"--at={p[0]!r},{p[1]!r}" for p in places], capture_output=True, check=True, text=True)
    at = dict(zip(places, json.loads(out.stdout)["positions"]))
    r = list(z)
    for m in readings:
        p = at.get(tuple(m.get("at", ())))
        v = {"force": lambda: p["force_n"][m["axis"]], "frequency": lambda: p["in_plane_hz"][m["rank"]-1], "out": lambda: p["out_of_plane_hz"][m["rank"]-1],
             "yaw": lambda: p["bodies"]["stage"][2], "mass": lambda: next(b["mass_kg"] for b in a["bodies"] if b["name"] == a["stage"])}[m["kind"]]()
        r.append((m["value"] - v)/m["sigma"])
    return np.array(r)
s = least_squares(residuals, np.zeros(4), jac="3-point", x_scale="jac", xtol=1e-13, ftol=1e-15, gtol=1e-13, diff_step=1e-2)
# differences of a share of z leave little where z is near 0: derivatives by a hundredth of the prior
J = np.column_stack([(residuals(s.x + h) - residuals(s.x - h))/0.02 for h in 0.01*np.eye(4)])
z = s.x - np.linalg.solve(J.T @ J, J.T @ residuals(s.x))
json.dump({"x": list(z*prior), "sigma": list(np.sqrt(np.diag(np.linalg.inv(J.T @ J)))*prior), "chi_square": float(np.sum(residuals(z)**2))}, sys.stdout)

"""One position of an exported assembly (rigid bodies) on planar.py.
pose.py ASSEMBLY.json X_MM Y_MM SEGMENTS -> JSON {force_n: [...], bodies: {name: [x mm, y mm, yaw rad]}}; the bending
factor of each blade is read from the assembly. With one actuator y is left out."""
import sys, os, json, numpy as np
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from planar import Model, solve
A = json.load(open(sys.argv[1])); x, y, n = float(sys.argv[2]), float(sys.argv[3]), int(sys.argv[4])
B = sorted(A['bodies'], key=lambda b: not b.get('fixed')); ix = {b['name']: i for i, b in enumerate(B)}
act = {a['body']: a for a in A['actuators']}  # the origin of a driven body is where it is pushed
pos = [np.array(act[b['name']].get('point_m', b['position_m']) if b['name'] in act else b['position_m'])[:2]*1e3 for b in B]
m = Model(pose=[tuple(p) for p in pos])
for b in A['blades']:
    r, t = np.array(b['root_m'])*1e3, np.array(b['tip_m'])*1e3; L = np.linalg.norm(t-r); h, w, E = b['thickness_m']*1e3, b['width_m']*1e3, b['youngs_modulus_pa']/1e6
    m.add(ix[b['from']], r, np.arctan2(*(t-r)[::-1]), L, ix[b['to']], E*b['bending_factor']*w*h**3/12, E*w*h)
st = ix[A['stage']]; axes = [{'x': 0, 'y': 1}[a['axis']] for a in A['actuators']]
q, force, *_ = solve(m, n=n, prescribe=[(st, d, (x, y)[d]) for d in axes], actuators=[(ix[a['body']], d) for a, d in zip(A['actuators'], axes)], steps=2)
print(json.dumps({'force_n': list(map(float, force)), 'bodies': {b['name']: [float(v) for v in q[3*i:3*i+3]] for i, b in enumerate(B)}}))

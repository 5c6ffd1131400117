"""Outside Monte-Carlo of thickness errors on an exported assembly (rigid bodies), on planar.py, one element a blade.
scatter.py ASSEMBLY.json TRAVEL_MM SIGMA_UM PARTS SEED -> JSON {measure column: [value of every part]} of yaw, lost motion,
cross force, isolation and the first in-plane frequency at the centre; unsolved parts counted."""
import sys, os, json, itertools, numpy as np
from scipy.linalg import eigh
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from planar import Model, solve
def strip_factor(r, nu, tab=((.1, 1.0245), (.2, 1.0448), (.25, 1.0537), (.327, 1.0653), (.333, 1.0658), (.5, 1.0834), (.521, 1.0849), (.571, 1.0883), (.75, 1.0951), (.8, 1.0983), (1.0, 1.103))):
    """Interpolated from solid leaves (nu = 0.33), scaled by 1/(1-nu^2)-1 for other nu."""
    x, y = zip(*tab); g = (np.interp(r, x, y)-1)/(1/(1-.33**2)-1); return 1+g*(1/(1-nu**2)-1)
A = json.load(open(sys.argv[1])); T, sig, parts, seed = float(sys.argv[2]), float(sys.argv[3])*1e-3, int(sys.argv[4]), int(sys.argv[5])
act = {a['body']: a for a in A['actuators']}; B = sorted(A['bodies'], key=lambda b: not b.get('fixed')); ix = {b['name']: i for i, b in enumerate(B)}
pos = [np.array(act[b['name']].get('point_m', b['position_m']) if b['name'] in act else b['position_m'])[:2]*1e3 for b in B]
st = ix[A['stage']]; a1, a2 = (ix[a['body']] for a in A['actuators']); rng = np.random.default_rng(seed)
def frequency(m, err):
    """Lowest in-plane mode at rest, actuators free: bodies rigid, the mass of each blade as that of a beam with cubic deflection."""
    from planar import assemble
    nodes, els = m.expand(1); n = 3*len(nodes); _, K = assemble(nodes, els, np.zeros(n)); M = np.zeros((n, n))
    for i, b in enumerate(B):
        if not b.get('fixed'): M[3*i:3*i+3, 3*i:3*i+3] = np.diag([b['mass_kg']*1e-3, b['mass_kg']*1e-3, b['inertia_kg_m2'][2]*1e3])  # t, t mm2
    for bl, b, e in zip(m.blades, A['blades'], err):
        L = bl.L; mass = b['density_kg_m3']*1e-12*L*b['width_m']*1e3*(b['thickness_m']*1e3+e)
        C = np.zeros((6, 6)); C[np.ix_([0, 3], [0, 3])] = np.array([[2, 1], [1, 2]])/6  # u, w, rotation of root, of tip
        C[np.ix_([1, 2, 4, 5], [1, 2, 4, 5])] = np.array([[156, 22*L, 54, -13*L], [22*L, 4*L*L, 13*L, -3*L*L], [54, 13*L, 156, -22*L], [-13*L, -3*L*L, -22*L, 4*L*L]])/420
        c, s = np.cos(bl.psi), np.sin(bl.psi); R = np.array([[c, s], [-s, c]]); T = np.zeros((6, 6))
        for k, r in ((0, bl.ra), (3, bl.rb)):
            T[k:k+2, k:k+2] = R; T[k:k+2, k+2] = R@np.array([-r[1], r[0]]); T[k+2, k+2] = 1
        at = np.r_[3*bl.a:3*bl.a+3, 3*bl.b:3*bl.b+3]; M[np.ix_(at, at)] += mass*(T.T@C@T)
    free = np.arange(3, n); w2 = eigh(K.toarray()[np.ix_(free, free)], M[np.ix_(free, free)], eigvals_only=True)
    return float(np.sqrt(w2[0]))/(2*np.pi)
def part(err):
    m = Model(pose=[tuple(p) for p in pos])
    for b, e in zip(A['blades'], err):
        r, t_ = np.array(b['root_m'])*1e3, np.array(b['tip_m'])*1e3; L = np.linalg.norm(t_-r); t = b['thickness_m']*1e3+e; w = b['width_m']*1e3; E = b['youngs_modulus_pa']/1e6
        f = b.get('bending_factor') or strip_factor(w/L, b['poisson_ratio']); m.add(ix[b['from']], r, np.arctan2(*(t_-r)[::-1]), L, ix[b['to']], E*f*w*t**3/12, E*w*t)
    P = {}
    for g in itertools.product((0, T, -T), repeat=2):
        q, lam, *_ = solve(m, n=1, prescribe=[(st, 0, g[0]), (st, 1, g[1])], actuators=[(a1, 0), (a2, 1)], steps=2); P[g] = q, lam
    at = lambda g, b, d: P[g][0][3*b+d]
    return {'parasitic_yaw_urad': max(abs(at(g, st, 2)) for g in P)*1e6, 'lost_motion_um': max(max(abs(at(g, a1, 0)-g[0]), abs(at(g, a2, 1)-g[1])) for g in P)*1e3,
            'isolation_along_um': max(max(abs(at(g, a2, 1)-at((0, g[1]), a2, 1)), abs(at(g, a1, 0)-at((g[0], 0), a1, 0))) for g in P)*1e3,
            'first_frequency_hz': frequency(m, err),
            'cross_force_n': max(max(abs(P[g][1][1]-P[0, g[1]][1][1]), abs(P[g][1][0]-P[g[0], 0][1][0])) for g in P)}
rows, bad = [], 0
for _ in range(parts):
    try: rows.append(part(rng.normal(0, sig, len(A['blades'])) if sig else np.zeros(len(A['blades']))))
    except Exception: bad += 1
print(json.dumps({**{k: [float(r[k]) for r in rows] for k in rows[0]}, 'unsolved': bad}))

"""What `show --plant` wrote, judged from the file alone with NumPy and SciPy: closed-loop poles, largest |S|, margins, the
three frequencies, the discrete controller. One file per argument; prints a line of JSON for each."""
import json
import sys

import numpy as np
from scipy.linalg import eigvals


def controller(c, s, corners=1.0):
    """Without gain, all corners moved by a factor."""
    v = np.ones_like(s)
    for z in c["zeros_rad_s"]:
        v = v * (1 + s / (z * corners))
    for p in c["poles_rad_s"]:
        v = v / (s if p == 0 else 1 + s / (p * corners))
    return v


def plant(pose, x, w, scale=1.0):
    """2x2 response of the sensed output, frequencies scaled."""
    o = np.array(pose["omega_rad_s"]) * scale
    d = o**2 - w[:, None]**2 + 2j * np.array(pose["damping"]) * o * w[:, None]
    out, act = np.array(pose["stage" if x["sensor"] == "stage" else "encoder"]), np.array(pose["actuator"])
    return np.einsum("wk,ik,jk->wij", 1 / d, out, act)


def grid(pose, scale, low=1e-2):
    """Hz: a fine base to beyond the last mode, and points crowded about every mode."""
    k = np.sinh(np.linspace(-4.2, 4.2, 45))
    f = np.array(pose["omega_rad_s"]) * scale / (2 * np.pi)
    high = max(6e3, 1.5 * f[-1])
    crowd = (f[:, None] * (1 + np.array(pose["damping"])[:, None] * k)).ravel()
    return np.unique(np.r_[np.geomspace(low, high, 3000), crowd[(crowd > low) & (crowd < high)]])


def gains(x, wc, corners):
    """|C P| = 1 at wc at the centre."""
    w = np.array([wc])
    p = plant(x["poses"][0], x, w)[0]
    return [1 / abs(p[i, i] * controller(c, 1j * w, corners)[0]) for i, c in enumerate(x["controllers"])]


def difference(x, p, w, k, corners):
    c = [k[i] * controller(c, 1j * w, corners) * np.exp(-1j * w * x["delay_s"]) for i, c in enumerate(x["controllers"])]
    if len(c) == 1:
        lx = 1 + c[0] * p[:, 0, 0]
        return lx, np.ones_like(lx), lx
    lx, ly = 1 + c[0] * p[:, 0, 0], 1 + c[1] * p[:, 1, 1]
    det = lx * ly - c[0] * c[1] * p[:, 0, 1] * p[:, 1, 0]
    return lx, ly, det


def stable(x, pose, scale, k, corners, order=5):
    """Eigenvalues of the closed loop, time in units of 1/crossover, the delay by Pade."""
    wc = 2 * np.pi * x["crossover_hz"] * corners
    o, z = np.array(pose["omega_rad_s"]) * scale / wc, np.array(pose["damping"])
    out, act = np.array(pose["stage" if x["sensor"] == "stage" else "encoder"]), np.array(pose["actuator"])
    n = len(o)
    a = np.zeros((2 * n, 2 * n))
    i = np.arange(n)
    a[2 * i, 2 * i + 1], a[2 * i + 1, 2 * i], a[2 * i + 1, 2 * i + 1] = o, -o, -2 * z * o
    blocks, ks = [a], []
    for axis, c in enumerate(x["controllers"]):
        num, den = np.poly1d([1.0]), np.poly1d([1.0])
        for v in c["zeros_rad_s"]:
            num *= np.poly1d([wc / (v * corners), 1])
        for v in c["poles_rad_s"]:
            den *= np.poly1d([wc / (v * corners), 1]) if v else np.poly1d([wc, 0])
        t = x["delay_s"] * wc
        co = [1.0]
        for m in range(order):
            co.append(co[-1] * t * (order - m) / ((2 * order - m) * (m + 1)))
        num *= np.poly1d([v * (-1)**(len(co) - 1 - q) for q, v in enumerate(co[::-1])])
        den *= np.poly1d(co[::-1])
        ks.append((num.c / den.c[0], den.c / den.c[0]))
    size = 2 * n + sum(len(d) - 1 for _, d in ks)
    full = np.zeros((size, size))
    full[:2 * n, :2 * n] = a
    at = 2 * n
    for axis, (num, den) in enumerate(ks):
        m = len(den) - 1
        num = np.r_[np.zeros(m + 1 - len(num)), num]
        c = num[1:] - num[0] * den[1:]
        full[at, at:at + m] = -den[1:]
        full[at + 1:at + m, at:at + m - 1] = np.eye(m - 1)
        full[at, 2 * i] = -out[axis]
        full[2 * i[:, None] + 1, at + np.arange(m)[None, :]] += np.outer(act[axis] / (wc**2 * o), k[axis] * c)
        at += m
    return eigvals(full).real.max() < 0


def judge(x, factor=1.0):
    """Stable everywhere, largest |S|, first rise of |S| to -3 dB and fall of |T| below it (Hz)."""
    k = gains(x, 2 * np.pi * x["crossover_hz"] * factor, factor)
    peak, rises, falls, ok, graze = 0.0, np.inf, np.inf, True, np.inf
    for pose in x["poses"]:
        for number, scale in enumerate(x["frequency_scales"]):
            f = grid(pose, scale)
            w = 2 * np.pi * f
            lx, ly, det = difference(x, plant(pose, x, w, scale), w, k, factor)
            for s in (ly / det, lx / det)[:len(k)]:
                size = abs(s)
                peak = max(peak, size.max())
                m = np.argmax(size >= 0.5**0.5)
                if m:
                    rises = min(rises, np.interp(0.5**0.5, size[m - 1:m + 1], f[m - 1:m + 1]))
                if number == 0 and "stage_added_mass_kg" not in pose:
                    t = abs(1 - s)
                    m = np.argmax(t < 0.5**0.5)
                    if m:
                        here = np.interp(-0.5**0.5, -t[m - 1:m + 1], f[m - 1:m + 1])
                        falls = min(falls, here)
                    below = t[f < 0.9 * x["closed_loop_frequency_hz"]]
                    graze = min(graze, below.min())
            ok = ok and (peak > 2.2 or stable(x, pose, scale, k, factor))
            if peak > 2.2 or not ok:
                return ok, peak, rises, falls, graze
    return ok, peak, rises, falls, graze


def margins(x):
    """Phase (degrees), gain and largest |S| at nominal frequencies, each axis with the other's loop closed."""
    k = gains(x, 2 * np.pi * x["crossover_hz"], 1.0)
    phase, gain, peak = 180.0, np.inf, 0.0
    for pose in x["poses"]:
        if "stage_added_mass_kg" in pose:
            continue
        grid_w = 2 * np.pi * grid(pose, 1.0)
        for axis in range(len(k)):
            def loop(w):
                both = difference(x, plant(pose, x, w), w, k, 1.0)
                return both[2] / both[1 - axis] - 1

            def flips(holds, open_loop, where):
                """Open loop where a property changes, by halving."""
                now = holds(open_loop)
                i = np.flatnonzero((now[1:] != now[:-1]) & where)
                a, b, was = grid_w[i], grid_w[i + 1], now[i]
                for _ in range(40):
                    m = np.sqrt(a * b)
                    same = holds(loop(m)) == was
                    a, b = np.where(same, m, a), np.where(same, b, m)
                return loop(a) if len(a) else np.array([])

            v = loop(grid_w)
            top = np.argmax(abs(1 / (1 + v)))
            near = np.linspace(grid_w[max(top - 1, 0)], grid_w[min(top + 1, len(grid_w) - 1)], 401)
            peak = max(peak, abs(1 / (1 + loop(near))).max())
            ones = flips(lambda z: abs(z) < 1, v, True)
            phase = min(phase, *np.degrees(abs(np.angle(-ones))), 180.0)
            negative = (v.real < 0)[1:] & (v.real < 0)[:-1]
            size = abs(flips(lambda z: z.imag < 0, v, negative))
            gain = min(gain, *np.maximum(size, 1 / size), np.inf)
    return phase, gain, peak


for path in sys.argv[1:]:
    x = json.load(open(path))
    ok, peak, rises, falls, graze = judge(x)
    above_ok, above_peak, *_ = judge(x, 1.01)
    unity = [abs(c["gain"] / g - 1) for c, g in zip(x["controllers"], gains(x, 2 * np.pi * x["crossover_hz"], 1.0))]
    phase, gain, nominal = margins(x)
    worst = 0.0
    for c in x["controllers"]:
        d = c["discrete"]
        w = 2 * np.pi * np.geomspace(0.01, 0.5, 60) * x["crossover_hz"]
        z = np.exp(-1j * w * d["sample_s"])
        discrete = np.polyval(d["b"][::-1], z) / np.polyval(d["a"][::-1], z)
        worst = max(worst, abs(discrete / (c["gain"] * controller(c, 1j * w)) - 1).max())
    print(json.dumps({"stable": bool(ok), "peak": peak, "bandwidth": rises, "closed_loop": falls, "grazes": graze, "gain": max(unity),
                      "above": bool(above_ok and above_peak <= 2), "discrete": worst, "phase_margin": phase, "gain_margin": gain, "nominal_peak": nominal,
                      "crossover_hz": x["crossover_hz"],
                      "bandwidth_hz": x["bandwidth_hz"], "closed_loop_frequency_hz": x["closed_loop_frequency_hz"]}))

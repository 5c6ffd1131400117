"""Read DXF files with an independent library (Debian package python3-ezdxf) and
print one JSON object a line: audit complaints, open lines, number of cuts, area of
metal (mm2), and how many contours cross, or lie inside, one that they must not."""
import json
import math
import sys

import ezdxf
import numpy as np
from ezdxf.math import Vec2, bulge_radius, is_point_in_polygon_2d
from ezdxf.path import make_path


def enclosed(polyline):
    """Area, exact for arcs (flattened, the library's own arcs are cubic curves)."""
    points = polyline.get_points("xyb")
    total = 0.0
    for (x, y, bulge), (u, v, _) in zip(points, points[1:] + points[:1]):
        total += (x * v - u * y) / 2
        if bulge:
            angle, radius = 4 * math.atan(bulge), bulge_radius((x, y), (u, v), bulge)
            total += radius**2 * (angle - math.sin(angle)) / 2
    return abs(total)


def cross(p, q):
    """Whether two closed lines, arrays of points, cross."""
    a, b = p[:, None, :], np.roll(p, -1, axis=0)[:, None, :]
    c, d = q[None, :, :], np.roll(q, -1, axis=0)[None, :, :]

    def side(a, b, c):
        return (b[..., 0] - a[..., 0]) * (c[..., 1] - a[..., 1]) - (b[..., 1] - a[..., 1]) * (c[..., 0] - a[..., 0])

    return bool(np.any((side(a, b, c) * side(a, b, d) < 0) & (side(c, d, a) * side(c, d, b) < 0)))


for path in sys.argv[1:]:
    document = ezdxf.readfile(path)
    auditor = document.audit()
    found = {"complaints": len(auditor.errors) + len(auditor.fixes), "open": 0, "overlaps": 0}
    outer, cuts, metal = [], [], 0.0
    for e in document.modelspace().query("LWPOLYLINE"):
        if not e.closed:
            found["open"] += 1
        sign = 1 if e.dxf.layer == "CUT_OUTER" else -1
        metal += sign * enclosed(e)
        (outer if sign > 0 else cuts).append(Vec2.list(make_path(e).flattening(1e-2)))
    arrays = [np.array([(p.x, p.y) for p in c]) for c in cuts]
    boxes = [(min(p.x for p in c), max(p.x for p in c), min(p.y for p in c), max(p.y for p in c)) for c in cuts]
    for i, c in enumerate(cuts):
        found["overlaps"] += is_point_in_polygon_2d(c[0], outer[0]) != 1 or cross(arrays[i], np.array([(p.x, p.y) for p in outer[0]]))
        for j in range(i):
            a, b = boxes[i], boxes[j]
            if a[1] < b[0] or b[1] < a[0] or a[3] < b[2] or b[3] < a[2]:
                continue
            inside = is_point_in_polygon_2d(c[0], cuts[j]) >= 0 or is_point_in_polygon_2d(cuts[j][0], c) >= 0
            found["overlaps"] += inside or cross(arrays[i], arrays[j])
    found["cuts"] = len(cuts)
    found["area"] = metal
    print(json.dumps(found))

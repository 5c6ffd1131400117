"""Read a DXF file with an independent library (Debian package python3-ezdxf) and
print what it finds as JSON: audit errors, closed contours per layer with their
areas (arcs flattened to 1e-6 mm), circles, extents, units."""
import json
import math
import sys

import ezdxf
from ezdxf.math import Vec2, area
from ezdxf.path import make_path
from ezdxf import bbox

document = ezdxf.readfile(sys.argv[1])
auditor = document.audit()
found = {
    "errors": [str(e.message) for e in auditor.errors],
    "fixes": [str(e.message) for e in auditor.fixes],
    "units": document.units,
    "layers": sorted(layer.dxf.name for layer in document.layers),
    "open": 0,
    "contours": {},
    "circles": {},
    "texts": [],
}
model = document.modelspace()
for e in model:
    layer = e.dxf.layer
    if e.dxftype() == "LWPOLYLINE":
        if not e.closed:
            found["open"] += 1
            continue
        points = Vec2.list(make_path(e).flattening(1e-6))
        found["contours"].setdefault(layer, []).append({"area": area(points), "arcs": sum(1 for v in e if v[4] != 0)})
    elif e.dxftype() == "CIRCLE":
        found["circles"].setdefault(layer, []).append(e.dxf.radius)
    elif e.dxftype() == "TEXT" and layer == "TEXT":
        found["texts"].append(e.plain_text())
    else:
        found["errors"].append("unexpected " + e.dxftype())
box = bbox.extents(e for e in model if e.dxf.layer.startswith("CUT"))
found["extents"] = [box.extmin.x, box.extmin.y, box.extmax.x, box.extmax.y]
json.dump(found, sys.stdout)

"""Read STEP files with an independent kernel (Debian package python3-gmsh, which
holds OpenCASCADE) and print what it finds, one JSON object a line: number of
solids, shells' faces by kind, volume (mm3), bounding box (mm)."""
import collections
import json
import sys

import gmsh

gmsh.initialize()
gmsh.option.setNumber("General.Terminal", 0)
gmsh.option.setNumber("Geometry.OCCAutoFix", 0)  # nothing is to be repaired
gmsh.option.setString("Geometry.OCCTargetUnit", "MM")
for path in sys.argv[1:]:
    gmsh.clear()
    gmsh.model.occ.importShapes(path, highestDimOnly=True)
    gmsh.model.occ.synchronize()
    solids = gmsh.model.getEntities(3)
    faces = gmsh.model.getEntities(2)
    found = {"solids": len(solids), "faces": len(faces), "volume": 0.0, "bounds": [], "open": 0}
    found["kinds"] = collections.Counter(gmsh.model.getType(*f) for f in faces)
    for solid in solids:
        found["volume"] += gmsh.model.occ.getMass(*solid)
        found["bounds"] = gmsh.model.getBoundingBox(*solid)
        # In a closed shell every edge belongs to two faces, a seam twice to one.
        found["open"] += len(gmsh.model.getBoundary(gmsh.model.getBoundary([solid], oriented=True), combined=True, oriented=True))
    print(json.dumps(found))
gmsh.finalize()

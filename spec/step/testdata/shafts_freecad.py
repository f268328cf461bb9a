# Makes models with FreeCAD 0.20 (OpenCASCADE 7.6), by: python3 shafts_freecad.py FOLDER mm
# and again with inch. All numbers are in millimetres, and invented.
import sys
import FreeCAD

folder, unit = sys.argv[1], sys.argv[2]
step = FreeCAD.ParamGet("User parameter:BaseApp/Preferences/Mod/Part/STEP")
step.SetInt("Unit", {"mm": 0, "inch": 2}[unit])
step.SetString("Scheme", {"mm": "AP214IS", "inch": "AP242DIS"}[unit])
import Import, Part
from FreeCAD import Vector as V

def turned(points):
    """A profile of (x, radius) round its section, turned about x."""
    return Part.Face(Part.makePolygon([V(x, r, 0) for x, r in points + points[:1]])).revolve(V(0, 0, 0), V(1, 0, 0), 360)

def shaft(*segments):
    """Segments of (length, diameter, diameter at its end)."""
    x, points = 0, [(0, 0)]
    for long, d, e in segments:
        if points[-1] != (x, d / 2):
            points.append((x, d / 2))
        x += long
        points.append((x, e / 2))
    return turned(points + [(x, 0)])

def rim(shape, x, r):
    return [e for e in shape.Edges if abs(e.BoundBox.XMin - x) + abs(e.BoundBox.XMax - x) + abs(e.BoundBox.YLength / 2 - r) < 1e-6]

def ring(x, long, outer, bore):
    return turned([(x, bore / 2), (x, outer / 2), (x + long, outer / 2), (x + long, bore / 2)])

def write(name, **parts):
    doc = FreeCAD.newDocument()
    for label, shape in parts.items():
        doc.addObject("Part::Feature", label).Shape = shape
    doc.recompute()
    Import.export(doc.Objects, folder + "/" + name + ".step")
    FreeCAD.closeDocument(doc.Name)

plain = shaft((1, 13, 15), (39, 15, 15), (320, 20, 20), (25, 12, 12))
filleted = plain.makeFillet(0.8, rim(plain, 40, 7.5) + rim(plain, 360, 6))
if unit == "inch":
    # Mirrored in a plane at 45 degrees, and written in inches.
    write("inch", shaft=filleted.mirror(V(0, 0, 0), V(1, 1, 0)))
else:
    # The same shaft, tilted, with every surface made a B-spline.
    tilt = FreeCAD.Placement(V(12, -30, 7), FreeCAD.Rotation(V(1, 2, 2), 60))
    write("splines", shaft=filleted.toNurbs().transformGeometry(tilt.toMatrix()))
    # With a nut and two bearings, as an assembly.
    nut = ring(150, 12, 58, 20.5).fuse(ring(162, 38, 36, 20.5)).removeSplitter()
    write("assembly", shaft=plain, nut=nut, bearing=ring(12, 26, 40, 15), far_bearing=ring(365, 10, 32, 12))
    # A thread as it is: a groove of a helix, of one turn and a half.
    rod = shaft((20, 12, 12), (60, 20, 20), (15, 10, 10))
    helix = Part.makeHelix(10, 15, 9.6)
    at = V(9.6, 0, 0)
    ball = Part.Wire(Part.makeCircle(1.8, at, V(0, 1, 0)))
    tool = Part.Wire(helix).makePipeShell([ball], True, True)
    tool.rotate(V(0, 0, 0), V(0, 1, 0), 90)
    tool.translate(V(35, 0, 0))
    cut = rod.cut(tool)
    print("helix: volume", rod.Volume, tool.Volume, cut.Volume, cut.isValid())
    write("helix", shaft=cut)
    # A journal that bulges is no cylinder.
    bulge = Part.BSplineCurve()
    bulge.interpolate([V(0, 7.5, 0), V(15, 7.8, 0), V(30, 7.5, 0)])
    rest = Part.makePolygon([V(30, 7.5, 0), V(30, 10, 0), V(330, 10, 0), V(330, 0, 0), V(0, 0, 0), V(0, 7.5, 0)])
    write("bulged", shaft=Part.Face(Part.Wire([bulge.toShape()] + rest.Edges)).revolve(V(0, 0, 0), V(1, 0, 0), 360))
    # Bored through, crossed by a hole and with a flat, and with a neck of a round bottom.
    bored = plain.cut(Part.makeCylinder(4, 385, V(0, 0, 0), V(1, 0, 0)))
    write("bored", shaft=bored)
    crossed = plain.cut(Part.makeCylinder(1.5, 40, V(20, 0, -20), V(0, 0, 1))).cut(Part.makeBox(10, 10, 20, V(375, 4, -10)))
    write("crossed", shaft=crossed)
    write("necked", shaft=plain.cut(Part.makeTorus(8.5, 3, V(20, 0, 0), V(1, 0, 0))))
    # The blade lift of fixtures/bakery: shaft, nut and two bearings.
    lift = shaft((1, 13, 15), (57, 15, 15), (300, 20, 20), (21, 15, 15), (1, 15, 13))
    nut = ring(200, 12, 58, 20.6).fuse(ring(212, 42, 36, 20.6)).removeSplitter()
    write("blade_lift", shaft=lift, nut=nut, bearing=ring(25, 26, 40, 15), far_bearing=ring(363, 10, 35, 15))

# Makes the sketch of a model for SolveSpace 3.1, which has a kernel of its own: a section,
# turned about the x axis. By: python3 shaft_solvespace.py > lathe.slvs, and then
# solvespace-cli export-surfaces -o %.step lathe.slvs
import sys

def group(h, kind, order, name, extra):
    return f"Group.h.v={h:08x}\nGroup.type={kind}\nGroup.order={order}\nGroup.name={name}\nGroup.color=ff000000\n{extra}Group.scale=1\nGroup.visible=1\nGroup.remap={{\n}}\nAddGroup\n\n"

def param(h, v): return f"Param.h.v.={h:08x}\nParam.val={v:.20f}\nAddParam\n\n"

def sketch(points, arcs):
    """Points (x, radius) round the section, of which the last edge lies on the axis; arcs
    are the middles of edges that are arcs, counterclockwise."""
    out = ["±²³SolveSpaceREVa\n\n\n".encode("latin1")]
    text = group(1, 5000, 0, "#references", "")
    text += group(2, 5001, 1, "profile", "Group.activeWorkplane.v=80020000\nGroup.subtype=6000\nGroup.predef.q.w=1\nGroup.predef.origin.v=00010001\n")
    n = len(points)
    axis = 4 + n - 1
    text += group(3, 5101, 2, "lathe", f"Group.opA.v=00000002\nGroup.predef.origin.v={axis:04x}0001\nGroup.predef.entityB.v={axis:04x}0000\n")
    for r, q in ((1, (1, 0, 0, 0)), (2, (.5, .5, .5, .5)), (3, (.5, -.5, -.5, -.5))):
        for i in range(3): text += param(r << 16 | 0x10 + i, 0)
        for i in range(4): text += param(r << 16 | 0x20 + i, q[i])
    reqs = "".join(f"Request.h.v={r:08x}\nRequest.type=100\nRequest.group.v=00000001\nRequest.construction=0\nAddRequest\n\n" for r in (1, 2, 3))
    for i in range(n):
        r, a, b = 4 + i, points[i], points[(i + 1) % n]
        for j, p in enumerate([arcs[i], a, b] if i in arcs else [a, b]):
            for c in range(2): text += param(r << 16 | 0x10 + 3 * j + c, p[c])
        reqs += f"Request.h.v={r:08x}\nRequest.type={500 if i in arcs else 200}\nRequest.workplane.v=80020000\nRequest.group.v=00000002\nRequest.construction=0\nAddRequest\n\n"
    out.append((text + reqs).encode())
    return b"".join(out)

section = [(0, 0), (0, 6.5), (1, 7.5), (39.2, 7.5), (40, 8.3), (40, 10), (360, 10), (360, 6), (385, 6), (385, 0)]
sys.stdout.buffer.write(sketch(section, {3: (39.2, 8.3)}))

package reference

import "math"

// A notch raises the stresses of bending, torsion and axial force (Shigley's
// Mechanical Engineering Design, table 7-1, from memory).
type notch struct{ bend, twist, pull float64 }

// notches are those of an end, by its words.
func notches(shoulder, keyway, groove string) (list []notch, ok bool) {
	switch shoulder {
	case "sharp":
		list = append(list, notch{2.7, 2.2, 3})
	case "rounded":
		list = append(list, notch{1.7, 1.5, 1.9})
	default:
		return nil, false
	}
	switch keyway {
	case "end-milled":
		list = append(list, notch{2.14, 3, 0})
	case "none":
	default:
		return nil, false
	}
	switch groove {
	case "ring":
		list = append(list, notch{5, 3, 5})
	case "none":
	default:
		return nil, false
	}
	return list, true
}

// hardest is the stress at a point of the rim: the radius of Mohr's circle gives
// the principal stresses, these the energy of distortion.
func (n notch) hardest(d, moment, torque, force float64) float64 {
	r := d / 2
	// I = ∫ y² dA of the round section, area from the same rings.
	second := thirdDegree(0, r, func(x float64) float64 { return math.Pi * x * x * x })
	area := thirdDegree(0, r, func(x float64) float64 { return 2 * math.Pi * x })
	along := n.bend*moment*r/second + n.pull*force/area
	across := n.twist * torque * r / (2 * second)
	circle := math.Hypot(along/2, across)
	p1, p2 := along/2+circle, along/2-circle
	return math.Sqrt(p1*p1 - p1*p2 + p2*p2)
}

// lasting is the stress that a machined round part bears for ever with a chance
// r (Shigley, ch. 6, from memory).
func lasting(tensile, d, r float64) float64 {
	mpa, mm := tensile/1e6, d*1000
	surface := math.Min(1, 4.51/math.Pow(mpa, 0.265))
	size := math.Min(1, 1.24/math.Pow(mm, 0.107))
	if mm > 51 {
		size = 1.51 / math.Pow(mm, 0.157)
	}
	// How many deviations lie below r, by halving.
	lo, hi := -10.0, 10.0
	for range 200 {
		mid := (lo + hi) / 2
		if math.Erfc(-mid/math.Sqrt2)/2 < r {
			lo = mid
		} else {
			hi = mid
		}
	}
	if !known(r) {
		lo = unknown
	}
	return math.Min(tensile/2, 700e6) * surface * size * (1 - 0.08*lo)
}

func (w *work) journals(c *carriage) {
	a := w.a
	all := 0 * (w.out["working_force"][0] + c.screwTorque + c.turnDrag + c.turning + c.driving + c.backward + c.lead)
	force := 0 * w.out["working_force"][0]
	fa, fm := w.set("force_amplitude", (c.forces.utmost-c.forces.least)/2+force), w.set("force_middle", math.Abs(c.forces.utmost+c.forces.least)/2+force)
	ta, tm := w.set("torque_amplitude", (c.torques.utmost-c.torques.least)/2+all), w.set("torque_middle", math.Abs(c.torques.utmost+c.torques.least)/2+all)

	moment := unknown
	switch {
	case !known(a.Ratio) || a.Turning == "":
	case a.Turning == "nut":
		moment = 0
	case a.BeltPull > 0:
		moment = a.BeltPull * a.BeltOverhang
	case a.BeltPull == 0, a.Ratio == 1, known(a.CouplingTorque):
		moment = 0
	}
	w.set("belt_moment", moment)
	drive := instead(a.DriveJournal, math.Min(instead(a.DriveBore, a.CouplingBore), instead(a.CouplingBore, a.DriveBore)))
	far := instead(a.FarJournal, a.FarBore)
	w.set("drive_journal_diameter", drive)
	w.set("far_journal_diameter", far)
	w.end("drive", a.DriveEnd, drive, c.onMotor*w.out["peak_screw_torque"][0], moment, fa, fm, c.onMotor*ta, c.onMotor*tm, a.DriveShoulder, a.DriveKeyway, a.DriveGroove)
	w.end("far", a.FarEnd, far, 0, 0, fa, fm, 0, 0, a.FarShoulder, "none", a.FarGroove)
}

// end judges one end at each of its notches. A mean moment there is none: the
// pull stands still and the shaft turns under it.
func (w *work) end(name, held string, d, torque, moment, fa, fm, ta, tm float64, words ...string) {
	a := w.a
	limit := w.set(name+"_endurance_limit", lasting(a.TensileStrength, d, a.Reliability))
	takes := 0.0
	if held == "fixed" {
		takes = 1
	}
	list, ok := notches(words[0], words[1], words[2])
	unsure := end(held) + 0*(fa+fm+w.held+limit+a.TensileStrength)
	first, last := math.Inf(1), math.Inf(1)
	for _, n := range list {
		first = math.Min(first, a.YieldStrength/n.hardest(d, moment, torque, takes*(w.force+w.held)))
		swing := n.hardest(d, moment, ta, takes*fa/0.85)
		stand := n.hardest(d, 0, tm, takes*(fm+w.held))
		last = math.Min(last, 1/(swing/limit+stand/a.TensileStrength))
	}
	if !ok {
		first, last = unknown, unknown
	}
	w.set(name+"_journal_yield_safety", first+0*(end(held)+w.held+w.force+a.YieldStrength))
	w.set(name+"_journal_fatigue_safety", last+unsure)
}

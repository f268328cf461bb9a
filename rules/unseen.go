package rules

// Unseen lists what no rule looks at, so that nobody takes an axis without findings
// for one without faults. It is printed in the sheet, in the audit and in the
// documentation, and is to grow shorter.
func Unseen() []string {
	return []string{
		"guides: their load, life and stiffness, and the moments of an offset load",
		"alignment of screw, nut and guides, and the nut's bracket",
		"bolts of nut, supports and motor; keys and clamped hubs",
		"foundation and frame: their stiffness, and how they respond to vibration",
		"tuning of the controller; vibration above the first critical speed and the axial natural frequency",
		"heating of the motor (IEC 60034), and energy fed back by a lifting axis",
		"amount of grease or oil, lines and dosing; ageing of grease at rest",
		"wear, and the preload lost with it",
		"fretting at small oscillations, and shocks in transport",
		"belts and gears themselves: teeth, tension, play",
		"noise, electric currents through the bearings, radiation",
		"guarding, safe stop and lockout: the machine's risk assessment (ISO 12100, ISO 13849-1) and local codes decide",
	}
}

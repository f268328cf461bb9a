package rules

var nutTransfer = Rule{
	Name:     "nut-transfer",
	Question: "Is there a transfer sleeve where the nut comes off the shaft?",
	Doc: `A ball nut that leaves its shaft without a sleeve loses its balls. Where the nut comes
off (nut.comes_off: ends machined after assembly, nut changed in service) the spec must
ask for a transfer sleeve.`,
	Source:   "common practice, no source",
	Caution:  "hold the carriage by something else before its nut leaves the shaft",
	Severity: Warning,
	Reasons:  []Reason{{"nothing says that the nut comes off", func(v *View) bool { return !v.Flag(field("nut.comes_off")) }}},
	Check: func(v *View) []Fault {
		if v.Flag(field("nut.transfer_sleeve")) {
			return nil
		}
		return []Fault{{At: field("nut.comes_off"), Move: -1, Message: "the nut comes off the shaft and no transfer sleeve is asked for: it will lose its balls",
			Fixes: []Draft{declare(v, "a transfer sleeve", "nut.transfer_sleeve", "true")}}}
	},
}

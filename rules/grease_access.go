package rules

var greaseAccess = Rule{
	Name:     "grease-access",
	Question: "Can the nut be greased at all?",
	Doc: `A nut without a grease port can only be greased along the shaft, by hand or brush,
with the machine open. That is a way, if someone has thought of it: state it in
lubrication.along_shaft.`,
	Source:   "common practice, no source",
	Severity: Warning,
	Facts:    fields("nut.grease_port"),
	Reasons: []Reason{
		{"it is stated how the nut is greased along the shaft", func(v *View) bool { return v.Word(field("lubrication.along_shaft")) != "" }},
		dryRunning,
	},
	Check: func(v *View) []Fault {
		if v.Flag(field("nut.grease_port")) {
			return nil
		}
		return []Fault{{At: field("nut.grease_port"), Move: -1,
			Message: "the nut has no grease port and nothing says how it is greased along the shaft",
			Fixes:   []Draft{remark("a nut with grease port"), remark("along_shaft stated under lubrication")}}}
	},
}

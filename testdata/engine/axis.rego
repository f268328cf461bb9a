# Six rules over the values of one axis. input.values has each known quantity by its name,
# in SI units; input.limits the limit in force of each rule, where it has one.
package axis

slack := 1e-9

# What a rule needs beside its limit.
needs := {
	"ball-speed": ["dn", "max_rotation_speed", "ball_circle_diameter"],
	"critical-speed": ["critical_share", "max_rotation_speed", "critical_speed"],
	"inertia-ratio": ["inertia_ratio", "load_inertia", "turning_inertia"],
	"motor-rms-torque": ["rms_motor_torque", "motor.rated_torque"],
	"slenderness": ["length_to_diameter"],
	"static-safety": ["static_safety", "peak_force", "modified_static_rating", "incline_angle"],
}

known(rule) if {
	input.limits[rule]
	every name in needs[rule] { input.values[name] }
}

over("ball-speed") if input.values.dn > input.limits["ball-speed"] * (1 + slack)

over("critical-speed") if input.values.critical_share > input.limits["critical-speed"] * (1 + slack)

over("inertia-ratio") if input.values.inertia_ratio > input.limits["inertia-ratio"] * (1 + slack)

over("motor-rms-torque") if input.values.rms_motor_torque > input.limits["motor-rms-torque"] * input.values["motor.rated_torque"] * (1 + slack)

over("slenderness") if input.values.length_to_diameter > input.limits.slenderness * (1 + slack)

over("static-safety") if input.values.static_safety * (1 + slack) < input.limits["static-safety"]

idle("critical-speed") if input.values["screw.turning"] == 1

state(rule) := "does not apply" if idle(rule)

else := "not judged" if not known(rule)

else := "failed" if over(rule)

else := "passed"

states := {rule: state(rule) | some rule, _ in needs}

package mechanics

import u "trammel/spec/unit"

// Leaves: what an axis declares. A leaf bears the path of its declaration.
// Leaves without a formula of their own here get their values from outside;
// "carried.mass" is the one that comes from other axes.

// Words of the choices.
const (
	Horizontal = 0 // orientation
	Vertical   = 1

	FixedEnd     = 0 // ends of the shaft, and what the flange faces
	SupportedEnd = 1
	FreeEnd      = 2

	DriveAtStart  = 0 // where the driven end stands: travel starts there
	DriveAtEnd    = 1
	DriveAtBottom = 2 // the same for lifting axes
	DriveAtTop    = 3

	ShaftTurns = 0
	NutTurns   = 1

	Smooth   = 0
	Ordinary = 1
	Shocks   = 2

	StopByMotor = 0 // what makes the emergency stop
	StopByBrake = 1

	BalanceWeight = 0 // kind of counterbalance; the others move no mass to speak of
	CalendarTime  = 0 // what the service life counts
	WorkingTime   = 1
	SharpFillet   = 0 // shoulder of a journal
	Rounded       = 1
	NoNotch       = 0 // keyway and ring groove of a journal

	OneSide   = 0 // approach to a position
	BothSides = 1

	NoForce      = 0 // force under which positions must hold
	ProcessForce = 1
)

// Pairs of end conditions for buckling, by index.
const (
	FixedFree = iota
	SupportedSupported
	FixedSupported
	FixedFixed
)

var (
	Orientation  = choice("orientation", "how the axis stands", "horizontal", "vertical")
	InclineGiven = leaf("incline", "θ", "declared incline", u.Angle)

	Mass           = leaf("load.mass", "m_c", "mass of the carriage and everything fixed to it", u.Mass)
	MovedMassGiven = leaf("load.moved_mass", "m_w", "total moved mass, weighed or from the model", u.Mass)
	CarriedMass    = leaf("carried.mass", "m_k", "moved mass of the carried axes", u.Mass)
	Friction       = leaf("load.friction", "μ", "friction coefficient of the guides", u.None)
	DragGiven      = leaf("load.drag", "F_dd", "constant drag of wipers, seals and cable chain", u.Force)
	Counterbalance = leaf("load.counterbalance", "F_cb", "force of the counterbalance", u.Force)
	BalanceKind    = choice("load.counterbalance_by", "what the counterbalance is", "weight", "spring", "gas", "pneumatic", "hydraulic")
	RopeRatio      = leaf("load.rope_ratio", "r_r", "travel of the counterweight over that of the carriage", u.None)
	BalanceKept    = leaf("load.counterbalance_cannot_fail", "q_cb", "1 where loss of the counterbalance is excluded with a reason", u.None)
	Standstill     = leaf("load.standstill", "F_st", "axial force at standstill on all screws together, weight included, positive toward positive travel", u.Force)
	SideForce      = leaf("load.side_force", "F_r", "radial force on the nut", u.Force)
	SideMoment     = leaf("load.side_moment", "M_r", "tilting moment on the nut", u.Torque)
	Screws         = leaf("load.screws", "z", "screws that share the carriage", u.None)
	Unevenness     = leaf("load.unevenness", "k_u", "load of the most heavily loaded screw over the average load", u.None)

	Stroke            = leaf("motion.stroke", "l_u", "stroke, the useful travel", u.Length)
	Overtravel        = leaf("motion.overtravel", "l_o", "overtravel at each end of the stroke", u.Length)
	EmergencyDecel    = leaf("motion.emergency_deceleration", "a_e", "deceleration of an emergency stop", u.Acceleration)
	ReactionTimeGiven = leaf("motion.reaction_time", "t_rd", "time until the emergency stop takes effect", u.Time)
	StopBy            = choice("motion.stop_by", "what makes the emergency stop", "motor", "brake")
	EndSpeed          = leaf("motion.end_speed", "v_end", "speed at which the carriage may run against a mechanical end", u.Speed)
	EndStiffness      = leaf("motion.end_stiffness", "R_end", "stiffness of the mechanical end or its buffer", u.Stiffness)
	MoveDistance      = moveLeaf("motion.move.distance", "s_i", "distance of a move, its sign the direction", u.Length)
	MoveSpeed         = moveLeaf("motion.move.speed", "v_i", "top speed of a move", u.Speed)
	MoveRamp          = moveLeaf("motion.move.ramp", "t_a", "ramp time, up and down", u.Time)
	MoveRampUp        = moveLeaf("motion.move.ramp_up", "t_a1", "ramp time up", u.Time)
	MoveRampDown      = moveLeaf("motion.move.ramp_down", "t_a2", "ramp time down", u.Time)
	MoveAcceleration  = moveLeaf("motion.move.acceleration", "a_1", "acceleration, and deceleration if none is declared", u.Acceleration)
	MoveDeceleration  = moveLeaf("motion.move.deceleration", "a_2", "deceleration", u.Acceleration)
	MoveThrust        = moveLeaf("motion.move.thrust", "F_t", "process force against the direction of travel", u.Force)
	MoveHold          = moveLeaf("motion.move.hold", "F_ho", "process force at rest after a move, against its direction", u.Force)
	MovePayload       = moveLeaf("motion.move.payload", "m_p", "payload carried during a move", u.Mass)
	MoveDwell         = moveLeaf("motion.move.dwell", "t_d", "rest after a move", u.Time)

	HoursPerDay     = leaf("duty.hours_per_day", "h_d", "working hours a day", u.None)
	DaysPerYear     = leaf("duty.days_per_year", "d_y", "working days a year", u.None)
	ServiceLife     = leaf("duty.service_life", "L_dec", "required life as declared", u.Span)
	LifeBasis       = choice("duty.life_basis", "what the service life counts", "calendar", "working")
	Shock           = choice("duty.shock", "how suddenly the load acts", "smooth", "ordinary", "shocks")
	LoadFactorGiven = leaf("duty.load_factor", "f_wd", "declared load factor", u.None)
	Reliability     = leaf("duty.reliability", "S", "required reliability of the life", u.Percentage)

	NominalDiameter     = leaf("screw.nominal_diameter", "d_0", "nominal diameter", u.Length)
	Lead                = leaf("screw.lead", "P_h", "lead", u.Length)
	RootDiameter        = leaf("screw.root_diameter", "d_2", "root diameter of the shaft", u.Length)
	BallCircleGiven     = leaf("screw.ball_circle_diameter", "D_pwd", "declared ball pitch circle diameter", u.Length)
	DynamicRating       = leaf("screw.dynamic_rating", "C_a", "basic dynamic axial load rating", u.Force)
	StaticRating        = leaf("screw.static_rating", "C_0a", "basic static axial load rating", u.Force)
	Hardness            = leaf("screw.hardness", "HRC", "Rockwell C hardness of the raceway", u.None)
	GradeFactorGiven    = leaf("screw.grade_factor", "f_ac", "declared life factor of the accuracy grade", u.None)
	YieldStrengthGiven  = leaf("screw.yield_strength", "S_yd", "yield strength of the shaft's core", u.Stress)
	TensileStrength     = leaf("screw.tensile_strength", "S_ut", "tensile strength of the shaft's core", u.Stress)
	ElasticModulus      = leaf("screw.elastic_modulus", "E", "modulus of elasticity of the shaft", u.Stress)
	Density             = leaf("screw.density", "ρ", "density of the shaft", u.Density)
	Expansion           = leaf("screw.expansion", "α", "thermal expansion of the shaft", u.Expansion)
	ThreadFrictionGiven = leaf("screw.friction", "μ_sd", "friction coefficient of the ball thread", u.None)
	EfficiencyGiven     = leaf("screw.efficiency", "η", "declared driving efficiency", u.None)
	DNLimit             = leaf("screw.dn_limit", "dn_max", "permitted ball circle diameter in mm times speed in rpm", u.None)
	LongestShaft        = leaf("screw.longest", "L_max", "longest shaft available", u.Length)
	ShaftLength         = leaf("screw.length", "l_1", "overall length of the shaft", u.Length)
	EndLengths          = leaf("screw.end_lengths", "l_e", "total length of both unthreaded ends", u.Length)
	Grade               = choice("screw.grade", "accuracy grade", GradeWords...)
	Process             = choice("screw.process", "how the thread is made", "ground", "rolled", "whirled")
	Recirculation       = choice("screw.recirculation", "how the balls return", "tube", "deflector", "end-cap")
	Turning             = choice("screw.turning", "what turns", "shaft", "nut")

	NutLength    = leaf("nut.length", "l_n", "length of the nut", u.Length)
	Preload      = leaf("nut.preload", "F_pr", "preload", u.Force)
	Backlash     = leaf("nut.backlash", "s_ad", "declared axial play of the nut", u.Length)
	NutStiffness = leaf("nut.stiffness", "R_cat", "stiffness of the nut as published", u.Stiffness)
	NutInertia   = leaf("nut.inertia", "J_n", "inertia of a turning nut", u.Inertia)

	NutDragGiven      = leaf("nut.drag_torque", "T_nd", "drag torque of the preloaded nut", u.Torque)
	NutBearingDynamic = leaf("nut.bearing_dynamic_rating", "C_nb", "dynamic axial rating of the bearing of a turning nut", u.Force)
	NutBearingStatic  = leaf("nut.bearing_static_rating", "C_0nb", "static axial rating of the bearing of a turning nut", u.Force)

	DriveEnd              = choice("supports.drive_end", "how the driven end is held", "fixed", "supported", "free")
	FarEnd                = choice("supports.far_end", "how the far end is held", "fixed", "supported", "free")
	DriveAt               = choice("supports.drive_at", "where the driven end stands", "start", "end", "bottom", "top")
	Span                  = leaf("supports.span", "L_s", "free length between the supports", u.Length)
	LoadedLengthGiven     = leaf("supports.loaded_length", "L_bd", "declared longest distance from thrust bearing to nut", u.Length)
	BucklingEnds          = choice("supports.buckling_ends", "end condition for buckling", "fixed-free", "supported-supported", "fixed-supported", "fixed-fixed")
	Stretch               = leaf("supports.stretch", "δ_s", "stretch of the shaft as mounted", u.Length)
	HousingStiffnessGiven = leaf("supports.housing_stiffness", "R_hd", "stiffness of nut and bearing housings", u.Stiffness)

	DriveSupportStiffness = leaf("drive_support.stiffness", "R_b1", "axial stiffness of the support at the driven end", u.Stiffness)
	DriveSupportDynamic   = leaf("drive_support.dynamic_rating", "C_1", "dynamic axial rating of the support at the driven end", u.Force)
	DriveSupportStatic    = leaf("drive_support.static_rating", "C_01", "static axial rating of the support at the driven end", u.Force)
	DriveSupportDrag      = leaf("drive_support.drag_torque", "T_b1", "drag torque of the support at the driven end", u.Torque)
	FarSupportStiffness   = leaf("far_support.stiffness", "R_b2", "axial stiffness of the support at the far end", u.Stiffness)
	FarSupportDynamic     = leaf("far_support.dynamic_rating", "C_2", "dynamic axial rating of the support at the far end", u.Force)
	FarSupportStatic      = leaf("far_support.static_rating", "C_02", "static axial rating of the support at the far end", u.Force)
	FarSupportDrag        = leaf("far_support.drag_torque", "T_b2", "drag torque of the support at the far end", u.Torque)

	DriveSupportSpeedGiven = leaf("drive_support.max_speed", "n_b1d", "maximum speed of the support at the driven end", u.RotationSpeed)
	FarSupportSpeedGiven   = leaf("far_support.max_speed", "n_b2d", "maximum speed of the support at the far end", u.RotationSpeed)
	CouplingSpeedGiven     = leaf("coupling.max_speed", "n_cd", "maximum speed of the coupling", u.RotationSpeed)
	CouplingPeakGiven      = leaf("coupling.max_torque", "T_cpd", "permitted peak torque of the coupling", u.Torque)

	DriveSupportBore = leaf("drive_support.bore", "d_b1", "bore of the support at the driven end", u.Length)
	FarSupportBore   = leaf("far_support.bore", "d_b2", "bore of the support at the far end", u.Length)
	CouplingBore     = leaf("coupling.bore", "d_bc", "bore of the coupling for the screw", u.Length)

	DriveJournalGiven = leaf("drive_journal.diameter", "d_e1", "declared smallest diameter of the driven end", u.Length)
	DriveShoulder     = choice("drive_journal.shoulder", "fillet of the driven end's shoulder", "sharp", "rounded")
	DriveKeyway       = choice("drive_journal.keyway", "keyway of the driven end", "none", "end-milled")
	DriveGroove       = choice("drive_journal.groove", "groove of the driven end", "none", "ring")
	FarJournalGiven   = leaf("far_journal.diameter", "d_e2", "declared smallest diameter of the far end", u.Length)
	FarShoulder       = choice("far_journal.shoulder", "fillet of the far end's shoulder", "sharp", "rounded")
	FarGroove         = choice("far_journal.groove", "groove of the far end", "none", "ring")

	BeltPull             = leaf("drive.belt_pull", "F_b", "pull of the belt on the shaft, both strands", u.Force)
	BeltOverhang         = leaf("drive.belt_overhang", "l_b", "distance from the middle of the belt to the bearing", u.Length)
	Ratio                = leaf("drive.ratio", "i", "turns of the motor for one turn of the screw", u.None)
	MotorScrewsGiven     = leaf("drive.screws", "z_g", "screws that one motor turns", u.None)
	GearPlayGiven        = leaf("drive.backlash", "β_gd", "play of belt or gear, measured at the screw", u.Angle)
	GearEfficiencyGiven  = leaf("drive.gear_efficiency", "η_gd", "efficiency of belt or gear", u.None)
	GearInertiaGiven     = leaf("drive.gear_inertia", "J_gd", "inertia of belt or gear at the motor", u.Inertia)
	BrakeGiven           = leaf("drive.brake_torque", "T_br", "holding torque of a brake on the screw", u.Torque)
	BrakeDelayGiven      = leaf("drive.brake_delay", "t_bd", "time from the stop signal until the brakes engage", u.Time)
	BrakeSlipGiven       = leaf("drive.brake_slip", "k_bd", "slipping torque of the brakes over their holding torque", u.Percentage)
	GearTorque           = leaf("drive.gear_torque", "T_g", "permitted torque of belt or gear, at the screw", u.Torque)
	GearSpeedGiven       = leaf("drive.gear_speed", "n_gd", "maximum speed of belt or gear, at the motor", u.RotationSpeed)
	CrossRating          = leaf("drive.cross_torque", "T_csr", "permitted torque of the shaft or belt between the screws", u.Torque)
	TorqueLimit          = leaf("drive.torque_limit", "T_lim", "torque to which the drive limits the motor", u.Torque)
	MotorMaxSpeed        = leaf("motor.max_speed", "n_mmax", "maximum speed of the motor", u.RotationSpeed)
	MotorRatedSpeedGiven = leaf("motor.rated_speed", "n_mrd", "speed up to which the motor gives its peak torque", u.RotationSpeed)
	MotorTorque          = leaf("motor.rated_torque", "T_mr", "continuous torque of the motor", u.Torque)
	MotorPeakTorque      = leaf("motor.peak_torque", "T_mp", "peak torque of the motor", u.Torque)
	MotorTopTorqueGiven  = leaf("motor.torque_at_max_speed", "T_mtd", "peak torque of the motor at its maximum speed", u.Torque)
	RotorInertia         = leaf("motor.rotor_inertia", "J_m", "inertia of the rotor", u.Inertia)
	MotorBrake           = leaf("motor.brake_torque", "T_mb", "holding torque of the motor's brake", u.Torque)
	CouplingTorque       = leaf("coupling.rated_torque", "T_cr", "rated torque of the coupling", u.Torque)
	CouplingTwistGiven   = leaf("coupling.torsional_stiffness", "k_cd", "torsional stiffness of the coupling", u.RotationalStiffness)
	CouplingInertia      = leaf("coupling.inertia", "J_c", "inertia of the coupling", u.Inertia)

	Positioning     = leaf("accuracy.positioning", "e_req", "required positioning, half the band", u.Length)
	Repeatability   = leaf("accuracy.repeatability", "r_req", "required repeatability", u.Length)
	Approach        = choice("accuracy.approach", "from which sides a position is approached", "one-side", "both-sides")
	TemperatureRise = leaf("accuracy.temperature_rise", "ΔT", "temperature rise of the shaft above the machine", u.TemperatureDifference)
	Bandwidth       = leaf("accuracy.bandwidth", "f_b", "required bandwidth of the position loop", u.Frequency)
	Scale           = leaf("accuracy.scale", "a_sc", "accuracy of the linear scale that the position loop reads, half the band", u.Length)
	ScatterGiven    = leaf("accuracy.scatter", "r_sd", "scatter of a position approached from one side, half the band", u.Length)
	UnderForce      = choice("accuracy.force", "under which force positions must hold", "none", "process")
	TransportFactor = leaf("accuracy.transport_factor", "k_t", "how a transport grade is read: 2 by ISO 3408-3, 1 in many trade tables", u.None)

	RegreaseEvery      = leaf("lubrication.regrease_every", "t_g", "declared regreasing interval", u.Span)
	GreaseMin          = leaf("grease.min_temperature", "ϑ_g1", "minimum temperature of the grease", u.Temperature)
	GreaseMax          = leaf("grease.max_temperature", "ϑ_g2", "maximum temperature of the grease", u.Temperature)
	EnvironmentCooling = leaf("environment.cooling", "h", "heat transfer from the shaft to the air, in W/(m²·K)", u.None)
	StabilisedTo       = leaf("screw.stabilised_to", "ϑ_st", "temperature up to which the steel of screw and nut is stabilised", u.Temperature)
	EnvironmentMin     = leaf("environment.min_temperature", "ϑ_p1", "minimum temperature of the environment", u.Temperature)
	EnvironmentMax     = leaf("environment.max_temperature", "ϑ_p2", "maximum temperature of the environment", u.Temperature)
)

// GradeWords are the accuracy grades in the order their choice counts them:
// JIS B 1192 C grades, ISO 3408-3 positioning grades P (JIS Cp) and transport
// grades T (JIS Ct).
var GradeWords = []string{
	"C0", "C1", "C3", "C5", "C7", "C10",
	"P1", "P3", "P5", "T5", "T7", "T10",
	"P0", "P2", "P4", "P7", "P10", // of no standard: read as the next coarser grade
}

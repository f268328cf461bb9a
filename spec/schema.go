package spec

import (
	"strings"

	"trammel/spec/unit"
)

// Sort is the sort of value a field takes.
type Sort uint8

const (
	Quantity Sort = iota // text with a unit: "20 mm"
	Number               // a bare number: a count or ratio
	Text                 // free text
	Word                 // one of a list of words
	Flag                 // true or false
	PartRef              // a reference to a part: screw.g20x10
	AxisRefs             // a list of axes of the same folder: [axis.lift]
	Date                 // a day: "2027-06-30"
)

// A Field is one attribute the language knows. Fields are read-only.
type Field struct {
	Path     string // "screw.lead", "motion.move.speed", "orientation"
	Name     string // last part of the path
	Sort     Sort
	Unit     unit.Kind // for a Quantity
	Words    []string  // for a Word
	Pair     bool      // a list of two quantities, one for each end
	Min, Max float64   // permitted range in SI, both included; equal: no range
	Above    bool      // Min itself is not permitted
	NotZero  bool      // any sign, but not zero
	PerRev   bool      // data sheets write it per revolution: "10 mm/rev" is read as "10 mm"
	Whole    bool      // a count: a whole number
	Usual    [2]string // where values of real axes lie, as they would be written; empty: anywhere
	Low      float64   // Usual in SI; of a size without its sign, but for temperatures
	High     float64
	Least    float64 // the smallest size a value may have besides zero; 0: no such
	Default  string  // built-in default, as it would be written; "" for none
	Why      string  // where the default comes from
	Part     string  // for a PartRef: the kind of part
	Role     string  // for a PartRef: the path prefix under which the part's fields appear
	Inherit  bool    // a machine block may give it for all its axes
	Apart    bool    // of the part alone: no axis has it
	Instead  string  // a field of the same block that says as much in another way: one of the two is enough; "" for none
	File     bool    // a text that names a file in the tree, relative to the one it stands in
	Thread   bool    // a text that names a metric thread: M15x1, or none
	Doc      string  // one line for people
	Example  string  // as it would be written
	index    int
}

// Other is the field that Instead names; nil for none.
func (f *Field) Other() *Field {
	if f.Instead == "" {
		return nil
	}
	return Language().FieldAt(strings.TrimSuffix(f.Path, f.Name) + f.Instead)
}

// Index is the field's place in Fields of its schema.
func (f *Field) Index() int { return f.index }

// A Block is one kind of block the language knows.
type Block struct {
	Name   string // "screw"
	Label  string // what its label names, "" for a block without label
	Many   bool   // may stand more than once
	Doc    string
	Fields []*Field
	Blocks []*Block
}

func (b *Block) field(name string) *Field {
	for _, f := range b.Fields {
		if f.Name == name {
			return f
		}
	}
	return nil
}

func (b *Block) block(name string) *Block {
	for _, c := range b.Blocks {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// option changes a field while the schema is being built.
type option func(*Field)

func quantity(name string, k unit.Kind, example, doc string, o ...option) *Field {
	return build(&Field{Name: name, Sort: Quantity, Unit: k, Example: `"` + example + `"`, Doc: doc}, o)
}

func number(name, example, doc string, o ...option) *Field {
	return build(&Field{Name: name, Sort: Number, Example: example, Doc: doc}, o)
}

func text(name, example, doc string, o ...option) *Field {
	return build(&Field{Name: name, Sort: Text, Example: `"` + example + `"`, Doc: doc}, o)
}

func word(name string, words []string, doc string, o ...option) *Field {
	return build(&Field{Name: name, Sort: Word, Words: words, Example: `"` + words[0] + `"`, Doc: doc}, o)
}

func flag(name, doc string, o ...option) *Field {
	return build(&Field{Name: name, Sort: Flag, Example: "true", Doc: doc}, o)
}

func partRef(name, part, role, example, doc string, o ...option) *Field {
	return build(&Field{Name: name, Sort: PartRef, Part: part, Role: role, Example: part + "." + example, Doc: doc}, o)
}

func build(f *Field, o []option) *Field {
	for _, set := range o {
		set(f)
	}
	f.ranges()
	return f
}

func inherit(f *Field) { f.Inherit = true }
func pair(f *Field)    { f.Pair = true; f.Example = "[" + f.Example + ", " + f.Example + "]" }

func notZero(f *Field) { f.NotZero = true }
func perRev(f *Field)  { f.PerRev = true }

// unbounded is an upper end that only keeps nonsense out.
const unbounded = 1e15

// file: the name of a file.
func file(f *Field) { f.File = true }

// thread: the name of a metric thread.
func thread(f *Field) { f.Thread = true }

// whole: a count.
func whole(f *Field) { f.Whole = true }

// usual is where values of real axes lie. What lies outside may be right, but is
// more often a slip. A thousandth of the lower end is the least a value may be.
func usual(low, high string) option {
	return func(f *Field) { f.Usual = [2]string{low, high} }
}

// ranges works out what usual says.
func (f *Field) ranges() {
	if f.Usual[0] == "" {
		return
	}
	for i, to := range []*float64{&f.Low, &f.High} {
		q, err := unit.Parse(f.Usual[i], f.Unit)
		if err != nil {
			panic("spec: usual range of " + f.Name + ": " + err.Error())
		}
		*to = q.Nominal
	}
	if f.Unit != unit.Temperature && f.Min <= 0 {
		f.Least = f.Low / 1000
	}
}

// positive: above zero. The upper end only keeps nonsense out.
func positive(f *Field) { f.Min, f.Max, f.Above = 0, unbounded, true }

// notNegative: zero or more.
func notNegative(f *Field) { f.Min, f.Max = 0, unbounded }

func between(min, max float64) option {
	return func(f *Field) { f.Min, f.Max = min, max }
}

func above(min, max float64) option {
	return func(f *Field) { f.Min, f.Max, f.Above = min, max, true }
}

// instead names a field that says as much.
func instead(name string) option { return func(f *Field) { f.Instead = name } }

func byDefault(value, why string) option {
	return func(f *Field) { f.Default, f.Why = value, why }
}

const (
	nothing = "not declared, not counted"
	steel   = "usual screw steel, handbook value"
)

// grades are the accuracy grades: JIS B 1192 C grades, ISO 3408-3 positioning
// grades P and transport grades T.
var grades = []string{"C0", "C1", "C3", "C5", "C7", "C10", "P1", "P3", "P5", "T5", "T7", "T10", "P0", "P2", "P4", "P7", "P10"}

var endWords = []string{"fixed", "supported", "free"}

func screwFields() []*Field {
	return []*Field{
		quantity("nominal_diameter", unit.Length, "20 mm", "nominal diameter d0", positive, usual("4 mm", "200 mm")),
		quantity("lead", unit.Length, "10 mm", "lead Ph", positive, perRev, usual("0.5 mm", "120 mm")),
		quantity("root_diameter", unit.Length, "17.3 mm", "root diameter d2 of the shaft", positive, usual("2.5 mm", "190 mm")),
		quantity("ball_circle_diameter", unit.Length, "20.7 mm", "ball pitch circle diameter Dpw; if not declared, the nominal diameter is used", positive, usual("4 mm", "210 mm")),
		quantity("ball_diameter", unit.Length, "3.3 mm", "ball diameter Dw", positive, usual("0.5 mm", "30 mm")),
		word("hand", []string{"right", "left"}, "hand of the thread"),
		number("starts", "1", "number of thread starts", between(1, 12), whole),
		number("loaded_turns", "3", "loaded turns of balls, over all starts and circuits", above(0, 100), usual("1", "20")),
		quantity("dynamic_rating", unit.Force, "12.7 kN", "basic dynamic axial load rating Ca", positive, usual("300 N", "1500 kN")),
		quantity("static_rating", unit.Force, "21 kN", "basic static axial load rating C0a", positive, usual("500 N", "5000 kN")),
		word("process", []string{"ground", "rolled", "whirled"}, "how the thread is made"),
		word("recirculation", []string{"tube", "deflector", "end-cap"}, "how the balls return"),
		number("dn_limit", "100000", "permitted ball circle diameter in mm times speed in rpm", between(2000, 1000000), usual("20000", "300000")),
		quantity("longest", unit.Length, "1500 mm", "longest shaft available", positive, usual("50 mm", "20 m")),
		number("hardness", "60", "Rockwell C hardness of the raceway", between(40, 70), byDefault("58", "precondition of ISO 3408-5"), usual("45", "66")),
		number("grade_factor", "0.9", "life factor f_ac of the accuracy grade, where the maker gives one", above(0, 1), usual("0.5", "1")),
		quantity("yield_strength", unit.Stress, "450 MPa", "yield strength of the core", positive, usual("150 MPa", "2000 MPa")),
		quantity("tensile_strength", unit.Stress, "650 MPa", "tensile strength of the core and the ends", positive, byDefault("500 MPa", "a cautious core strength; common practice, no source"), usual("300 MPa", "2200 MPa")),
		quantity("elastic_modulus", unit.Stress, "206 GPa", "modulus of elasticity", between(50e9, 500e9), byDefault("206 GPa", steel), usual("150 GPa", "230 GPa")),
		quantity("density", unit.Density, "7850 kg/m3", "density", between(1000, 20000), byDefault("7850 kg/m3", steel), usual("7000 kg/m3", "8500 kg/m3")),
		quantity("expansion", unit.Expansion, "11.5e-6 1/K", "coefficient of thermal expansion", between(5e-7, 50e-6), byDefault("11.5e-6 1/K", steel), usual("9e-6 1/K", "18e-6 1/K")),
		quantity("stabilised_to", unit.Temperature, "150 °C", "temperature up to which the steel of screw and nut is stabilised; needed above 120 °C", usual("100 °C", "400 °C")),
		number("friction", "0.003", "friction coefficient of the ball thread", between(0.0005, 0.2), usual("0.001", "0.02")),
		number("efficiency", "0.9", "driving efficiency, where the maker gives one", between(0.2, 1), usual("0.6", "0.99")),
	}
}

func nutFields() []*Field {
	return []*Field{
		quantity("length", unit.Length, "62 mm", "length of the nut", positive, inherit, usual("10 mm", "1 m")),
		quantity("stiffness", unit.Stiffness, "310 N/um", "stiffness as published (at 30 % of Ca with play, at a preload of 10 % of Ca with preload)", between(0.5e6, 100e9), usual("10 N/um", "10000 N/um")),
		quantity("inertia", unit.Inertia, "4.2 kg cm2", "inertia of a turning nut", positive, usual("0.01 kg cm2", "10000 kg cm2")),
		quantity("bearing_dynamic_rating", unit.Force, "32 kN", "dynamic axial rating of the bearing of a turning nut", positive, usual("300 N", "1000 kN")),
		quantity("bearing_static_rating", unit.Force, "48 kN", "static axial rating of the bearing of a turning nut", positive, usual("200 N", "2000 kN")),
		word("form", []string{"flange", "cylindrical"}, "form of the nut: with flange, or cylindrical"),
		word("preload_by", []string{"double-nut", "lead-offset", "oversize-balls", "none"}, "what preloads the nut"),
		flag("safety_nut", "a second nut carries the load without balls when the first one fails"),
		quantity("max_temperature", unit.Temperature, "80 °C", "maximum temperature of the nut with its wipers and returns", usual("30 °C", "300 °C")),
		flag("grease_port", "the nut has a grease port"),
		flag("wipers", "the nut has wipers", inherit),
		flag("corrosion_proof", "nut and balls resist corrosion", inherit),
	}
}

// partBlocks are the kinds of part. They are built anew for each place they
// appear in, since a field knows its path.
func partBlocks() []*Block {
	return []*Block{
		{Name: "screw", Label: "name", Many: true, Doc: "A screw with its nut's ratings.", Fields: append(bought(), append(screwFields(), flag("corrosion_proof", "shaft and raceway resist corrosion"))...)},
		{Name: "nut", Label: "name", Many: true, Doc: "A nut.", Fields: append(append(bought(), text("fits", "g20x10", "name of the screw it is the nut of; one that bears the screw's name is so without")), nutFields()...)},
		{Name: "support", Label: "name", Many: true, Doc: "A support unit for one end of the shaft.", Fields: append(bought(),
			word("kind", []string{"fixed", "supported"}, "whether it takes thrust"),
			quantity("bore", unit.Length, "15 mm", "bore for the journal", positive, usual("3 mm", "150 mm")),
			quantity("stiffness", unit.Stiffness, "180 N/um", "axial stiffness", between(0.5e6, 100e9), usual("10 N/um", "10000 N/um")),
			quantity("dynamic_rating", unit.Force, "19.9 kN", "dynamic axial rating of the bearing", positive, usual("300 N", "1000 kN")),
			quantity("static_rating", unit.Force, "23.9 kN", "static axial rating of the bearing", positive, usual("200 N", "2000 kN")),
			quantity("max_speed", unit.RotationSpeed, "8000 rpm", "maximum speed of the unit with its grease and seals", positive, usual("300 rpm", "40000 rpm")),
			quantity("drag_torque", unit.Torque, "0.06 N m", "drag torque", notNegative, usual("0.5 mN m", "20 N m")),
			quantity("max_temperature", unit.Temperature, "80 °C", "maximum temperature of the unit with its seals", usual("30 °C", "300 °C")),
			flag("sealed", "the unit is sealed against water and dust"),
		)},
		{Name: "motor", Label: "name", Many: true, Doc: "A motor.", Fields: append(bought(),
			quantity("max_speed", unit.RotationSpeed, "4500 rpm", "maximum speed", positive, usual("300 rpm", "30000 rpm")),
			quantity("rated_speed", unit.RotationSpeed, "3000 rpm", "speed up to which the peak torque holds", positive, usual("100 rpm", "20000 rpm")),
			quantity("rated_torque", unit.Torque, "1.3 N m", "continuous torque", positive, usual("0.01 N m", "2000 N m")),
			quantity("peak_torque", unit.Torque, "3.9 N m", "peak torque", positive, usual("0.02 N m", "5000 N m")),
			quantity("torque_at_max_speed", unit.Torque, "2.1 N m", "peak torque at the maximum speed", positive, usual("0.005 N m", "5000 N m")),
			quantity("rotor_inertia", unit.Inertia, "0.28 kg cm2", "inertia of the rotor", positive, usual("0.0005 kg cm2", "10000 kg cm2")),
			quantity("brake_torque", unit.Torque, "1.5 N m", "holding torque of the built-in brake; leave out where it has none", notNegative, usual("0.02 N m", "5000 N m")),
		)},
		{Name: "coupling", Label: "name", Many: true, Doc: "A coupling between motor and screw.", Fields: append(bought(),
			quantity("rated_torque", unit.Torque, "9 N m", "rated torque", positive, usual("0.1 N m", "20000 N m")),
			quantity("max_torque", unit.Torque, "18 N m", "permitted peak torque", positive, usual("0.1 N m", "50000 N m")),
			quantity("max_speed", unit.RotationSpeed, "10000 rpm", "maximum speed", positive, usual("500 rpm", "60000 rpm")),
			quantity("bore", unit.Length, "12 mm", "bore for the end of the screw", positive, usual("2 mm", "150 mm")),
			quantity("torsional_stiffness", unit.RotationalStiffness, "3200 N m/rad", "torsional stiffness", positive, usual("0.5 N m/rad", "10000000 N m/rad")),
			quantity("inertia", unit.Inertia, "0.12 kg cm2", "inertia", notNegative, usual("0.0005 kg cm2", "10000 kg cm2")),
			quantity("max_temperature", unit.Temperature, "100 °C", "maximum temperature of the coupling", usual("30 °C", "300 °C")),
		)},
		{Name: "grease", Label: "name", Many: true, Doc: "A grease or other lubricant.", Fields: append(described(),
			word("thickener", []string{"lithium", "lithium-complex", "calcium", "calcium-sulfonate", "aluminium-complex", "barium", "polyurea", "urea", "ptfe", "dry-film"}, "kind of thickener"),
			word("base_oil", []string{"mineral", "ester", "ether", "pao", "silicone", "pfpe", "none"}, "kind of base oil"),
			quantity("min_temperature", unit.Temperature, "-20 °C", "minimum working temperature", usual("-100 °C", "50 °C")),
			quantity("max_temperature", unit.Temperature, "110 °C", "maximum working temperature", usual("20 °C", "350 °C")),
			flag("low_particle", "gives off few particles: suitable for clean rooms"),
			flag("food_grade", "suitable for incidental contact with food"),
			flag("vacuum", "suitable for vacuum"),
			flag("water_resistant", "resists wash-out by water"),
		)},
		{Name: "environment", Label: "name", Many: true, Doc: "The environment in which axes work.", Fields: append(described(),
			quantity("min_temperature", unit.Temperature, "5 °C", "minimum temperature at the screw", usual("-60 °C", "100 °C")),
			quantity("max_temperature", unit.Temperature, "40 °C", "maximum temperature at the screw", usual("-20 °C", "300 °C")),
			number("cooling", "12", "heat transfer from the shaft to the air, in W/(m²·K): 5 in still air, 30 in a draught, up to 60 around a fast shaft", above(0, 1000), usual("2", "200")),
			flag("dust", "dust settles on the axis"),
			flag("chips", "chips or grit fall on the axis"),
			flag("wash_down", "the axis is washed down"),
			flag("clean_room", "emitted particles matter"),
			flag("open_product", "open food or a similar product near the axis"),
			flag("vacuum", "the axis works in vacuum"),
		)},
	}
}

// seriesBlock is a table of parts. Its list fields are read by series, not as
// values.
func seriesBlock(parts []*Block) *Block {
	var kinds []string
	for _, p := range parts {
		kinds = append(kinds, p.Name)
	}
	return &Block{Name: "series", Label: "name", Many: true, Doc: "Parts of one kind as a table, one row for each size.", Fields: []*Field{
		word("of", kinds, "the kind of part"),
		build(&Field{Name: "columns", Sort: Text, Example: `["name", "nominal_diameter mm", "lead mm"]`, Doc: "what the columns hold: `name`, and fields of the part, a quantity with the unit of its column"}, nil),
		build(&Field{Name: "sizes", Sort: Text, Example: `[["g16x5", 16, 5], ["g20x5", 20, 5]]`, Doc: "a row of values for each size; `null` where it has none"}, nil),
	}}
}

func described() []*Field {
	return []*Field{text("description", "what it is, in words", "what it is, in words")}
}

// bought are the fields of the parts that are bought piece by piece.
func bought() []*Field {
	return append(described(), number("cost", "180", "price of one piece in the builder's own currency, used to rank parts; no rule uses it", notNegative,
		func(f *Field) { f.Apart = true }))
}

func moveBlock() *Block {
	return &Block{Name: "move", Label: "name", Many: true, Doc: "One move of the cycle, in the order of their lines.", Fields: []*Field{
		quantity("distance", unit.Length, "-720 mm", "distance; the sign is the direction, positive is uphill on an incline", notZero, usual("0.01 mm", "30 m")),
		quantity("speed", unit.Speed, "0.6 m/s", "top speed", positive, usual("0.05 mm/s", "5 m/s")),
		quantity("ramp", unit.Time, "0.15 s", "ramp time, up and down, to and from the declared speed", positive, usual("1 ms", "20 s"), instead("acceleration")),
		quantity("ramp_up", unit.Time, "0.15 s", "ramp time up", positive, usual("1 ms", "20 s")),
		quantity("ramp_down", unit.Time, "0.2 s", "ramp time down", positive, usual("1 ms", "20 s")),
		quantity("acceleration", unit.Acceleration, "4 m/s2", "acceleration, and deceleration if none is declared", positive, usual("1 mm/s2", "50 m/s2")),
		quantity("deceleration", unit.Acceleration, "5 m/s2", "deceleration", positive, usual("1 mm/s2", "50 m/s2")),
		quantity("thrust", unit.Force, "80 N", "process force against the direction of travel; negative where it helps", byDefault("0 N", nothing), usual("0.1 N", "2000 kN")),
		quantity("hold", unit.Force, "2 kN", "process force during the dwell after the move, against the direction of the move; required if a move has thrust and dwell", usual("0.1 N", "2000 kN")),
		quantity("payload", unit.Mass, "12 kg", "payload carried during the move, besides the moved mass", notNegative, byDefault("0 kg", nothing), usual("1 g", "50 t")),
		quantity("dwell", unit.Time, "0.9 s", "rest after the move", notNegative, byDefault("0 s", nothing), usual("1 ms", "24 h")),
	}}
}

// shaftFits are tolerance classes of ISO 286-2 that seats and stubs of shafts are made to.
var shaftFits = []string{"f7", "g5", "g6", "h4", "h5", "h6", "h7", "h8", "h9", "js4", "js5", "js6", "j5", "j6", "k4", "k5", "k6", "m5", "m6", "n5", "n6", "p6", "r6"}

// journalFields are those of one end of the shaft. From the thread outward it is made of a
// shoulder, the seat of the bearing, the thread of its lock nut and the stub that is driven,
// as far as there are.
func journalFields() []*Field {
	return []*Field{
		quantity("diameter", unit.Length, "12 mm", "smallest diameter; if not declared, the bore of support or coupling is used", positive, usual("2 mm", "180 mm")),
		word("shoulder", []string{"sharp", "rounded"}, "fillet of the shoulder: sharp, or rounded with a radius of a tenth of the diameter", byDefault("sharp", "the cautious reading")),
		word("groove", []string{"none", "ring"}, "groove for a retaining ring", byDefault("none", nothing)),
		quantity("shoulder_diameter", unit.Length, "20 mm", "diameter of the shoulder that the bearing rests on", positive, usual("3 mm", "200 mm")),
		quantity("shoulder_length", unit.Length, "5 mm", "length of the shoulder, where it is a collar beside the thread", positive, usual("0.5 mm", "500 mm")),
		quantity("face_run_out", unit.Length, "4 um", "permitted axial run-out of the shoulder's face (ISO 1101)", positive, usual("1 um", "0.2 mm")),
		quantity("seat_diameter", unit.Length, "15 mm", "diameter of the bearing seat", positive, usual("3 mm", "180 mm")),
		quantity("seat_length", unit.Length, "23 mm", "length of the bearing seat", positive, usual("2 mm", "500 mm")),
		word("seat_fit", shaftFits, "tolerance class of the bearing seat (ISO 286-2)"),
		quantity("run_out", unit.Length, "8 um", "permitted run-out of seat and stub to the common axis of both seats (ISO 1101)", positive, usual("1 um", "0.5 mm")),
		text("lock_thread", "M15x1", "thread for the lock nut: M, diameter and pitch in mm; \"none\" where there is none", thread),
		quantity("lock_thread_length", unit.Length, "12 mm", "length of the lock-nut thread", positive, usual("2 mm", "300 mm")),
		quantity("stub_diameter", unit.Length, "12 mm", "diameter of the stub for coupling, pulley or handwheel", positive, usual("2 mm", "180 mm")),
		quantity("stub_length", unit.Length, "22 mm", "length of the stub", positive, usual("2 mm", "500 mm")),
		word("stub_fit", shaftFits, "tolerance class of the stub (ISO 286-2)"),
		quantity("groove_width", unit.Length, "1.1 mm", "width of the groove", positive, usual("0.3 mm", "20 mm")),
		quantity("groove_diameter", unit.Length, "14.3 mm", "diameter at the bottom of the groove", positive, usual("2 mm", "200 mm")),
		quantity("groove_at", unit.Length, "9 mm", "distance of the groove from the end of the shaft", notNegative, usual("0.5 mm", "500 mm")),
		word("centre_hole", []string{"required", "permitted", "none"}, "centre hole on the finished end (ISO 6411)"),
	}
}

// axisBlocks are the blocks of an axis.
func axisBlocks() []*Block {
	return []*Block{
		{Name: "load", Doc: "What is moved.", Fields: []*Field{
			quantity("mass", unit.Mass, "38 kg", "mass of the carriage and everything fixed to it, without carried axes", positive, usual("50 g", "50 t")),
			quantity("moved_mass", unit.Mass, "92 kg", "total moved mass, weighed or from the model, carried axes included; it is used instead of the sum", positive, usual("50 g", "50 t")),
			number("friction", "0.01", "friction coefficient of the guides", between(0, 2), inherit, usual("0.0005", "0.3")),
			quantity("drag", unit.Force, "18 N", "constant drag of wipers, seals, cable chain", notNegative, inherit, usual("0.1 N", "20 kN")),
			quantity("counterbalance", unit.Force, "400 N", "force of a counterbalance, upward", notNegative, byDefault("0 N", nothing), usual("1 N", "500 kN")),
			word("counterbalance_by", []string{"weight", "spring", "gas", "pneumatic", "hydraulic"}, "what the counterbalance is; a weight moves too"),
			number("rope_ratio", "2", "travel of the counterweight for one of the carriage", above(0, 10), byDefault("1", "a rope straight over a pulley"), usual("0.25", "4")),
			text("counterbalance_cannot_fail", "two ropes, each of full strength, inspected every month", "why loss of the counterbalance is excluded; without it the loss is a load case"),
			quantity("standstill", unit.Force, "2 kN", "axial force the screws hold at standstill, weight included; positive pushes the carriage toward positive travel, up on a lifting axis, negative the other way; it is shared among the screws", usual("0.1 N", "5000 kN")),
			flag("people_below", "people may be below the load of a lifting axis", inherit),
			quantity("side_force", unit.Force, "0 N", "radial force on the nut; \"0 N\" where the guides take everything", notNegative, inherit, usual("0.1 N", "100 kN")),
			quantity("side_moment", unit.Torque, "0 N m", "tilting moment on the nut", notNegative, usual("0.001 N m", "10000 N m")),
			build(&Field{Name: "carries", Sort: AxisRefs, Example: "[axis.lift]", Doc: "axes of the same folder that ride on this one; their moved mass is added"}, nil),
			number("screws", "2", "screws that share the carriage", between(1, 8), whole, byDefault("1", "one screw is usual")),
			number("unevenness", "1.3", "load of the most heavily loaded screw over the average load; needed with several screws", between(1, 8), usual("1", "3")),
		}},
		{Name: "motion", Doc: "Where and how it moves: one cycle.", Fields: []*Field{
			quantity("stroke", unit.Length, "720 mm", "stroke, the useful travel", positive, usual("0.5 mm", "20 m")),
			quantity("overtravel", unit.Length, "35 mm", "overtravel at each end", notNegative, usual("0.1 mm", "1 m")),
			quantity("nut_nearest", unit.Length, "120 mm", "distance from the driven end of the shaft to the middle of the nut, with the nut at the nearest point of its stroke; if not declared, drawings put the stroke in the middle of the thread", positive, usual("5 mm", "20 m")),
			quantity("emergency_deceleration", unit.Acceleration, "8 m/s2", "deceleration of an emergency stop", positive, inherit, usual("0.2 m/s2", "60 m/s2")),
			word("stop_by", []string{"motor", "brake"}, "what makes the emergency stop; without a brake, the motor is assumed", inherit),
			quantity("end_speed", unit.Speed, "20 mm/s", "speed at which the carriage may run against a mechanical end, as in homing; if not declared, only the push is judged", notNegative, usual("0.1 mm/s", "1 m/s")),
			quantity("end_stiffness", unit.Stiffness, "40 N/um", "stiffness of the mechanical end or its buffer; rigid if not declared", positive, usual("0.01 N/um", "5000 N/um")),
			quantity("reaction_time", unit.Time, "20 ms", "time until an emergency stop takes effect", between(0, 5), inherit, usual("2 ms", "500 ms")),
		}, Blocks: []*Block{moveBlock()}},
		{Name: "duty", Doc: "How long and how hard it works.", Fields: []*Field{
			number("hours_per_day", "16", "working hours a day", above(0, 24), inherit, usual("0.05", "24")),
			number("days_per_year", "240", "working days a year", above(0, 366), inherit, usual("5", "366")),
			quantity("service_life", unit.Span, "7 years", "required life: calendar time, or working hours with life_basis", positive, inherit, usual("1 month", "50 years")),
			word("life_basis", []string{"calendar", "working"}, "what the service life counts: calendar time, or working hours (hours_per_day, days_per_year); required where it is written in hours", inherit),
			word("shock", []string{"smooth", "ordinary", "shocks"}, "how suddenly the load acts; sets the load factor", inherit, instead("load_factor")),
			number("load_factor", "1.3", "load factor fw, instead of shock", between(1, 5), inherit, usual("1", "3.5")),
			quantity("reliability", unit.Percentage, "95 %", "required reliability of the life, 90 % to 99 %", between(0.9, 0.99), inherit, byDefault("90 %", "the usual basis of rating life, ISO 3408-5")),
			build(&Field{Name: "commissioned", Sort: Date, Example: `"2019-04-01"`, Doc: "day of commissioning"}, []option{inherit}),
			number("hours_so_far", "41000", "operating hours so far", between(0, 1e6), inherit, usual("1", "400000")),
		}},
		{Name: "screw", Doc: "The shaft. Values of a screw part may be written here too; then they count instead of the part's.", Fields: append([]*Field{
			partRef("part", "screw", "screw", "g20x10", "the screw from a parts file"),
			quantity("length", unit.Length, "980 mm", "overall length of the shaft", positive, usual("30 mm", "20 m")),
			text("model", "cad/shaft.step", "STEP file (ISO 10303-21) with the model of the shaft, relative to this file; it is compared with what is declared", file),
			word("grade", grades, "accuracy grade", inherit),
			quantity("end_lengths", unit.Length, "58 mm", "lengths of both ends without thread, driven end first", notNegative, pair, usual("1 mm", "1 m")),
			quantity("end_diameters", unit.Length, "15 mm", "largest diameters of both ends, driven end first", positive, pair, usual("3 mm", "200 mm")),
			word("turning", []string{"shaft", "nut"}, "what turns", byDefault("shaft", "the usual arrangement")),
			word("cover", []string{"none", "bellows", "telescopic", "enclosed"}, "what covers the shaft", inherit),
			flag("corrosion_proof", "shaft and raceway resist corrosion", inherit),
		}, screwFields()...)},
		{Name: "nut", Doc: "The nut. Values of a nut part may be written here too; then they count instead of the part's.", Fields: append([]*Field{
			partRef("part", "nut", "nut", "g20x10", "the nut from a parts file"),
			word("flange_toward", []string{"fixed", "supported", "free"}, "the end of the shaft that the flange faces"),
			text("flange_reason", "mounting space", "why the flange does not face the fixed end"),
			quantity("preload", unit.Force, "520 N", `preload; "0 N" for a nut with play`, notNegative, usual("5 N", "200 kN"), instead("backlash")),
			quantity("drag_torque", unit.Torque, "0.32 N m ± 30 %", "drag torque of the preloaded nut, as measured or as its drawing permits it", notNegative, usual("0.5 mN m", "50 N m")),
			quantity("backlash", unit.Length, "5 um", "axial play", notNegative, usual("0.5 um", "0.5 mm")),
			flag("transfer_sleeve", "a sleeve takes the nut off the shaft without losing balls", inherit),
			flag("comes_off", "the nut is taken off the shaft in assembly or service", inherit),
		}, nutFields()...)},
		{Name: "supports", Doc: "How the shaft is held.", Fields: []*Field{
			word("drive_end", endWords, "how the driven end is held", inherit),
			word("far_end", endWords, "how the far end is held", inherit),
			partRef("drive_end_part", "support", "drive_support", "fx15", "support unit of the driven end", inherit),
			partRef("far_end_part", "support", "far_support", "su15", "support unit of the far end", inherit),
			word("drive_at", []string{"start", "end", "bottom", "top"}, "where the driven end stands: positive travel leads away from start, and upward from bottom"),
			quantity("drive_bearing_at", unit.Length, "38 mm", "distance from the driven end of the shaft to the middle of its bearing; if not declared, drawings place both bearings evenly about the thread", notNegative, usual("1 mm", "2 m")),
			quantity("span", unit.Length, "900 mm", "free length between the supports", positive, usual("20 mm", "20 m")),
			quantity("loaded_length", unit.Length, "780 mm", "longest distance between thrust bearing and nut; if not declared, the span is used", positive, usual("10 mm", "20 m")),
			word("buckling_ends", []string{"fixed-free", "supported-supported", "fixed-supported", "fixed-fixed"}, "end condition for buckling, where it differs from that of the supports"),
			text("buckling_reason", "nut on a long carriage, four blocks", "what holds the shaft more firmly than the supports do"),
			quantity("stretch", unit.Length, "20 um", "stretch of the shaft as mounted", notNegative, byDefault("0 mm", nothing), usual("1 um", "1 mm")),
			quantity("housing_stiffness", unit.Stiffness, "900 N/um", "stiffness of nut and bearing housings; rigid if not declared", positive, usual("10 N/um", "20000 N/um")),
		}},
		{Name: "drive_journal", Doc: "The driven end of the shaft, outside of the thread.", Fields: append(journalFields(),
			word("keyway", []string{"none", "end-milled"}, "keyway for coupling or pulley", byDefault("none", nothing)),
			quantity("keyway_width", unit.Length, "4 mm", "width of the keyway", positive, usual("1 mm", "60 mm")),
			quantity("keyway_length", unit.Length, "16 mm", "length of the keyway", positive, usual("2 mm", "400 mm")),
			quantity("keyway_depth", unit.Length, "2.5 mm", "depth of the keyway in the shaft", positive, usual("0.5 mm", "40 mm")))},
		{Name: "far_journal", Doc: "The far end of the shaft, outside of the thread.", Fields: journalFields()},
		{Name: "drive", Doc: "What turns it.", Fields: []*Field{
			partRef("motor", "motor", "motor", "s400", "the motor"),
			partRef("coupling", "coupling", "coupling", "c20", "the coupling"),
			number("ratio", "2", "turns of the motor for one turn of the screw", above(0, 1000), byDefault("1", "motor coupled directly to the screw"), usual("0.1", "200")),
			number("screws", "2", "screws that one motor turns; to be declared where several share the carriage", between(1, 8), whole),
			quantity("cross_torque", unit.Torque, "30 N m", "torque that the shaft or belt between the screws of one motor may transmit", positive, usual("0.1 N m", "20000 N m")),
			number("gear_efficiency", "0.96", "efficiency of belt or gear", above(0, 1), usual("0.3", "1")),
			quantity("gear_inertia", unit.Inertia, "0.8 kg cm2", "inertia of belt or gear, seen by the motor", notNegative, usual("0.001 kg cm2", "10000 kg cm2")),
			quantity("gear_torque", unit.Torque, "18 N m", "permitted torque of belt or gear, at the screw", positive, usual("0.1 N m", "20000 N m")),
			quantity("gear_speed", unit.RotationSpeed, "6000 rpm", "maximum speed of belt or gear, at the motor", positive, usual("300 rpm", "30000 rpm")),
			quantity("backlash", unit.Angle, "4 arcmin", "play of belt or gear, measured at the screw", notNegative, usual("0.05 arcmin", "3 deg")),
			quantity("brake_torque", unit.Torque, "4 N m", "holding torque of a brake on the screw", notNegative, usual("0.05 N m", "5000 N m")),
			quantity("brake_delay", unit.Time, "80 ms", "time from the stop signal until the brakes engage, relays included", between(0, 5), usual("5 ms", "1 s")),
			quantity("brake_slip", unit.Percentage, "80 %", "slipping torque of the brakes over their holding torque", above(0, 1), usual("30 %", "100 %")),
			quantity("torque_limit", unit.Torque, "2.4 N m", "torque to which the drive limits the motor; if not declared, its peak torque", positive, usual("0.01 N m", "5000 N m")),
			quantity("belt_pull", unit.Force, "260 N", "pull of the belt on the driven end, both strands added; \"0 N\" for a gear that pulls nothing aside. Needed with a ratio where no coupling is named", notNegative, usual("1 N", "50 kN")),
			quantity("belt_overhang", unit.Length, "28 mm", "distance from the middle of the belt to the nearest bearing", positive, usual("1 mm", "1 m")),
		}},
		{Name: "accuracy", Doc: "Required accuracy.", Fields: []*Field{
			quantity("positioning", unit.Length, "50 um", "required positioning, half the band (±)", positive, inherit, usual("0.5 um", "5 mm")),
			quantity("repeatability", unit.Length, "10 um", "required repeatability, half the band (±)", positive, inherit, usual("0.1 um", "5 mm")),
			word("approach", []string{"one-side", "both-sides"}, "from which sides positions are approached", inherit, byDefault("both-sides", "the cautious reading")),
			quantity("scatter", unit.Length, "0.8 um", "scatter of a position approached from one side, half the band (±), as measured", positive, usual("0.05 um", "0.1 mm")),
			quantity("scale", unit.Length, "5 um", "accuracy of the linear scale that the position loop reads, over the stroke, half the band (±); leave out where the loop reads the motor's encoder", positive, usual("0.1 um", "0.2 mm")),
			word("force", []string{"none", "process"}, "under which force positions must hold: none, or the process force of the moves; needed where positioning is required and a move has thrust"),
			quantity("temperature_rise", unit.TemperatureDifference, "3 K", "temperature rise of the shaft above the machine", between(-300, 300), inherit, usual("0.1 K", "60 K")),
			flag("rise_measured", "temperature_rise was measured on the running machine", inherit),
			quantity("bandwidth", unit.Frequency, "10 Hz", "required bandwidth of the position loop", positive, inherit, usual("0.5 Hz", "500 Hz")),
			number("transport_factor", "2", "how transport grades are read: 2 by ISO 3408-3, 1 in many trade tables", between(1, 2), inherit, byDefault("2", "ISO 3408-3, the cautious reading")),
		}},
		{Name: "lubrication", Doc: "How it is greased.", Fields: []*Field{
			partRef("grease", "grease", "grease", "li2", "the grease", inherit),
			quantity("regrease_every", unit.Span, "5 months", "regreasing interval", positive, inherit, usual("1 day", "5 years")),
			text("along_shaft", "by brush, over the whole thread, hood open", "how a nut without grease port is greased along the shaft", inherit),
		}},
		{Name: "order", Doc: "What an enquiry says besides. No rule looks at it.", Fields: []*Field{
			number("quantity", "4", "screws with nuts to be quoted for", above(0, 100000), whole),
			number("spares", "1", "spare screws with nuts among them", between(0, 100000), whole),
			text("inspection", "travel record by ISO 3408-3, drag torque record", "records the supplier must provide", inherit),
			text("preservation", "oiled, wrapped, in a rigid case", "how the screw is preserved and packed", inherit),
			word("first_grease", []string{"supplier", "user"}, "who greases the nut for the first time", inherit),
		}},
		{Name: "document", Doc: "What the papers of an axis say of themselves. No rule looks at it.", Fields: []*Field{
			text("project", "line 3, oven hall", "the project", inherit),
			text("number", "4711-02", "number of the drawing or document", inherit),
			text("revision", "B", "revision of it", inherit),
			text("author", "who calculated", "who made it", inherit),
			text("reviewer", "who checked", "who reviewed it", inherit),
		}},
	}
}

func axisTop() []*Field {
	return []*Field{
		text("description", "what it does, in words", "what it does, in words"),
		word("orientation", []string{"horizontal", "vertical"}, "how the axis stands; positive travel of a vertical axis is upward", inherit, instead("incline")),
		quantity("incline", unit.Angle, "30 deg", "incline from the horizontal, instead of orientation; positive travel is uphill", between(0, 1.5707963267948968), usual("1 deg", "90 deg")),
		partRef("environment", "environment", "environment", "hall", "the environment it works in", inherit),
	}
}

func waiveBlock() *Block {
	return &Block{Name: "waive", Label: "rule", Many: true, Doc: "Accepts findings of one rule, with a reason, until a day.", Fields: []*Field{
		text("reason", "stiffened bed, measured on machine 3", "why it is accepted"),
		build(&Field{Name: "until", Sort: Date, Example: `"2027-06-30"`, Doc: "last day on which it holds"}, nil),
	}}
}

func givenBlock() *Block {
	return &Block{Name: "given", Doc: "Named values of this file, used as given.NAME. They may use each other."}
}

// A Schema is the language: which blocks and fields a file of each kind may
// hold. It is read-only.
type Schema struct {
	AxisFile   *Block   // *.axis.hcl
	PartsFile  *Block   // *.parts.hcl
	Series     *Block   // the series block; it takes the fields of its kind of part too
	PolicyFile *Block   // *.policy.hcl
	Axis       *Block   // the axis block
	Machine    *Block   // the machine block
	Move       *Block   // the move block
	Fields     []*Field // every field an axis can have, its parts' fields under their roles; moves' fields last
	Moves      int      // index of the first field of a move
	byPath     map[string]*Field
	parts      map[string]*Block
	seriesOf   []*Block // the series block with the fields of a kind, in order of PartKinds
	defaults   []*Value // by field index
	refs       []roleRef
	roleField  map[string]*Field // the field whose part plays a role
}

// FieldAt finds a field of an axis by its path, or returns nil.
func (s *Schema) FieldAt(path string) *Field { return s.byPath[path] }

// PartKinds lists the kinds of part.
func (s *Schema) PartKinds() []*Block { return s.PartsFile.Blocks[2:] }

var theSchema = newSchema()

// Language returns the schema.
func Language() *Schema { return theSchema }

func newSchema() *Schema {
	s := &Schema{byPath: map[string]*Field{}, parts: map[string]*Block{}}
	parts := partBlocks()
	for _, p := range parts {
		s.parts[p.Name] = p
		for i, f := range p.Fields {
			f.Path, f.index = p.Name+"."+f.Name, i
		}
	}
	axis := &Block{Name: "axis", Label: "name", Many: true, Doc: "One linear axis.", Fields: axisTop(), Blocks: axisBlocks()}
	machine := &Block{Name: "machine", Label: "name", Doc: "The machine a folder holds: defaults for all axes in it and below. It stands in a file named machine.axis.hcl.",
		Fields: []*Field{axis.Fields[0]}}
	enter := func(prefix string, f *Field) {
		f.Path = f.Name
		if prefix != "" {
			f.Path = prefix + "." + f.Name
		}
		if s.byPath[f.Path] != nil {
			return
		}
		f.index = len(s.Fields)
		s.Fields = append(s.Fields, f)
		s.byPath[f.Path] = f
	}
	for _, f := range axis.Fields {
		enter("", f)
		if f.Inherit {
			machine.Fields = append(machine.Fields, f)
		}
	}
	for _, b := range axis.Blocks {
		m := &Block{Name: b.Name, Doc: b.Doc}
		for _, f := range b.Fields {
			enter(b.Name, f)
			if f.Inherit {
				m.Fields = append(m.Fields, f)
			}
		}
		if len(m.Fields) > 0 {
			machine.Blocks = append(machine.Blocks, m)
		}
	}
	// The fields of parts, under the role the part plays.
	for _, f := range s.Fields[:len(s.Fields):len(s.Fields)] {
		if f.Sort != PartRef || f.Role == f.Part && s.blockHas(axis, f.Role) {
			continue
		}
		for _, pf := range s.parts[f.Part].Fields {
			if pf.Apart {
				continue
			}
			role := *pf
			enter(f.Role, &role)
		}
	}
	s.Moves = len(s.Fields)
	s.Move = axis.block("motion").Blocks[0]
	for _, f := range s.Move.Fields {
		enter("motion.move", f)
	}
	axis.Blocks = append(axis.Blocks, waiveBlock())
	s.Axis, s.Machine = axis, machine
	s.AxisFile = &Block{Name: "axis file", Blocks: []*Block{givenBlock(), machine, axis}}
	s.Series = seriesBlock(parts)
	for _, p := range parts {
		b := *s.Series
		b.Fields = append(b.Fields[:len(b.Fields):len(b.Fields)], p.Fields...)
		s.seriesOf = append(s.seriesOf, &b)
	}
	s.PartsFile = &Block{Name: "parts file", Blocks: append([]*Block{givenBlock(), s.Series}, parts...)}
	s.PolicyFile = &Block{Name: "policy file", Blocks: []*Block{givenBlock(), policyRuleBlock(), houseRuleBlock(), waiveInPolicy()}}
	s.finish()
	return s
}

// blockHas reports whether the axis has a block of that name, whose own fields
// then stand for the part's.
func (s *Schema) blockHas(axis *Block, name string) bool { return axis.block(name) != nil }

func policyRuleBlock() *Block {
	return &Block{Name: "rule", Label: "rule", Many: true, Doc: "Limit and severity of one rule, for this folder and all below.", Fields: []*Field{
		build(&Field{Name: "limit", Sort: Text, Example: `"70 %"`, Doc: "the limit, with its unit where it has one"}, nil),
		word("severity", []string{"error", "warning", "note", "off"}, "severity of its findings; off judges nothing"),
		text("reason", "measured on ten machines", "why; required where it is looser than the default"),
	}}
}

func houseRuleBlock() *Block {
	return &Block{Name: "require", Label: "name", Many: true, Doc: "A house rule: a condition every axis here and below must meet.", Fields: []*Field{
		build(&Field{Name: "that", Sort: Text, Example: `life_hours >= "40000 h"`, Doc: "the condition, over declared values and computed quantities"}, nil),
		build(&Field{Name: "when", Sort: Text, Example: `incline_angle > "45 deg"`, Doc: "only where this holds"}, nil),
		text("message", "lifting axes must last 40,000 hours", "what the finding says"),
		word("severity", []string{"error", "warning", "note"}, "severity of its findings", byDefault("error", "")),
		text("reason", "agreed with service", "why the rule exists"),
	}}
}

func waiveInPolicy() *Block {
	b := waiveBlock()
	b.Doc = "Accepts findings of one rule for all axes and parts here and below, or of those named."
	b.Fields = append(b.Fields,
		build(&Field{Name: "axes", Sort: Text, Example: `["cross", "lift"]`, Doc: "names of the axes it holds for; all where neither axes nor parts are given"}, nil),
		build(&Field{Name: "parts", Sort: Text, Example: `["screw.g20x10"]`, Doc: "the parts it holds for, kind and name"}, nil))
	return b
}

// sorted names of a block's fields and blocks, for messages.
func (b *Block) names() []string {
	var n []string
	for _, f := range b.Fields {
		n = append(n, f.Name)
	}
	for _, c := range b.Blocks {
		n = append(n, c.Name)
	}
	return n
}

func list(words []string) string { return strings.Join(words, ", ") }

package mechanics

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"trammel/rules/mechanics/reference"
	"trammel/spec/amount"
)

var (
	axes = flag.Int("axes", 0, "how many random axes are calculated a second time; 0 for the usual")
	seed = flag.Uint64("seed", 1, "seed of the random axes")
)

// agreement says how far product and second calculation may be apart: rel of
// the greater value, or abs in the quantity's SI unit where a value may be what
// is left of others that cancel. Every computed quantity has a row.
var agreement = []struct {
	rel, abs float64
	why      string
	names    string
}{
	{0, 0, "a choice, or a value from a table, or a sum of two", `
		move_direction thrust_side screws_per_motor reliability_factor bearing_reliability_factor grade_factor load_factor ball_circle_diameter
		drag yield_strength reaction_time brake_delay brake_slip housing_stiffness gear_efficiency gear_inertia motor_rated_speed
		loaded_length axial_play support_dynamic_rating support_static_rating incline_angle
		sum_of_masses moved_mass top_payload heaviest_mass nut_temperature belt_moment drive_journal_diameter far_journal_diameter
		standing_thrust stop_means stall_torque one_side_scatter drive_support_speed far_support_speed coupling_speed gear_speed coupling_peak_torque`},
	{1e-12, 0, "few steps of arithmetic, in another order", `
		move_acceleration move_deceleration hours_per_year required_life
		travel_deviation travel_variation preload_share length_to_diameter needed_thread_length needed_shaft_length whole_travel
		thread_friction motor_torque_at_max_speed lead_angle nut_drag_torque drag_torque reversal_friction root_area root_second_moment shaft_inertia turning_inertia load_inertia
		inertia_ratio nut_stiffness stretch_force stretch_temperature balance_mass brake_torque stop_delay running_inertia thread_efficiency stall_force
		lost_balance_torque coupling_torsional_stiffness gear_backlash drive_play play_part screw_part shaft_wind_up grease_factor motor_end_torque
		temperature_factor hardness_factor static_hardness_factor modified_dynamic_rating modified_static_rating`},
	{1e-9, 0, "driven in steps whose events are located to rounding", `
		cycle_distance reach revolutions_per_cycle stroke_to_nut
		move_peak_speed phase_top_speed phase_acceleration top_speed speed_reached shortest_ramp
		cycle_time moving_time moving_share mean_speed mean_rotation_speed max_rotation_speed motor_speed min_lead dn
		cycles_per_year distance_per_day distance_per_year revolutions_per_year required_revolutions regrease_distance regrease_revolutions stopping_distance rocking_turns cycle_end_torque
		mean_load needed_dynamic_rating working_force peak_force emergency_force standstill_force gap_preload static_safety axial_stress equivalent_stress
		stop_torque_available brake_deceleration hardest_deceleration rope_acceleration standing_torque lasting_torque stop_screw_torque
		peak_screw_torque drive_end_torque cross_shaft_torque peak_motor_torque rms_motor_torque peak_power torque_share
		efficiency drive_endurance_limit far_endurance_limit`},
	{1e-9, 1e-9, "driven in steps; a phase may be all but nothing, in s and m", "phase_time phase_distance"},
	{1e-9, 2e-8, "the product calls a thousand-millionth of the path nothing; 20 m are the longest", "net_distance cycle_offset"},
	{1e-9, 1e-6, "forces that may cancel, in N", `
		phase_force move_stop_force flank_load_plus flank_load_minus mean_flank_load_plus mean_flank_load_minus
		force_amplitude force_middle weight_force self_motion pushed_force thermal_force thermal_push held_force whole_push
		standing_force rest_force move_self_motion lost_balance_force`},
	{1e-9, 1e-9, "torques that may cancel, in N·m, and friction that may just hold", `
		phase_screw_torque phase_motor_torque back_driving_efficiency holding_torque torque_amplitude torque_middle stop_torque`},
	{1e-12, 1e-12, "a difference of lengths, in m", "thread_length"},
	{1e-7, 1e-9, "heat, of which all but nothing may be left, through a fin of 40 elements; and a place just as warm", "nut_heat friction_heat least_friction_rise most_friction_rise environment_over_rise"},
	{1e-5, 1e-12, "24 beam elements, looked at in 60 places each; an upright shaft does not sag", "shaft_sag shaft_slope"},
	{1e-8, 1e-9, "accelerations of which weight and friction may cancel, in m/s²", "reachable_deceleration fall_acceleration"},
	{1e-6, 0, "over a deceleration that may all but cancel", "run_on_distance"},
	{1e-9, 1e-15, "growth that a stretch may just take up, in m", "thermal_growth"},
	{1e-7, 0, "of what may cancel, its third power or its reciprocal", `
		life_plus life_minus life life_hours life_years life_distance life_ratio holding_safety screw_brake_safety grease_revolutions regrease_share
		support_load support_peak_load support_static_safety support_life_years support_life_ratio nut_bearing_life_years nut_bearing_life_ratio nut_bearing_static_safety
		drive_journal_yield_safety drive_journal_fatigue_safety far_journal_yield_safety far_journal_fatigue_safety`},
	{1e-8, 0, "bar elements, in which a rigid bearing is 10⁹ times as stiff as a bar", `
		shaft_stiffness axial_stiffness drive_stiffness force_deflection natural_frequency ramp_periods
		end_force end_static_safety end_support_safety end_stress
		elastic_deflection lost_motion repeatability_error worn_repeatability_error accuracy_budget`},
	{1e-6, 0, "what bar elements of shaft and bearings leave when the shaft's part is taken off", "bearing_stiffness"},
	{2e-6, 0, "24 beam elements: (4.73/24)⁴/2880 = 5·10⁻⁷ for two fixed ends", "end_root critical_speed critical_share"},
	{1e-5, 0, "24 beam elements: (2π/24)⁴/720 = 6.5·10⁻⁶ for two fixed ends", "buckling_fixity buckling_load span_buckling_load buckling_safety end_buckling_safety"},
}

// hardnessPower is how a quantity goes with HV10. Both tables of hardness hold
// the same pairs, but the product knows fewer and its straight lines between
// them are up to 1 % off (TestVickers).
var hardnessPower = map[string]float64{
	"hardness_factor": 2, "modified_dynamic_rating": 2, "needed_dynamic_rating": 2,
	"static_hardness_factor": 3, "modified_static_rating": 3, "static_safety": 3, "end_static_safety": 3,
	"life_plus": 6, "life_minus": 6, "life": 6, "life_hours": 6, "life_years": 6, "life_distance": 6, "life_ratio": 6,
}

// putInto gives the leaves of a Calc the values of an axis, and lists them.
func putInto(t *testing.T, c *Calc, a *reference.Axis) (leaves map[string]bool) {
	t.Helper()
	leaves = map[string]bool{}
	c.Reset(len(a.Moves))
	a.Each(func(path string, move int, field any) {
		leaves[path] = true
		q := ByName(path)
		if q == nil || !q.Leaf() {
			t.Fatalf("no leaf is named %s", path)
		}
		v := math.NaN()
		switch f := field.(type) {
		case *float64:
			v = *f
		case *string:
			if i := slices.Index(q.Words, *f); i >= 0 {
				v = float64(i)
			} else if *f != "" {
				t.Fatalf("%s has no word %q", path, *f)
			}
		}
		if move < 0 {
			c.Set(q, v)
		} else {
			c.SetMove(q, move, v)
		}
	})
	return leaves
}

// apart says how two values differ, "" where they agree.
func apart(got, want, rel, abs float64) string {
	switch {
	case got == want || math.IsNaN(got) && math.IsNaN(want):
		return ""
	case math.IsNaN(got):
		return fmt.Sprintf("is not known, by the second calculation %.12g", want)
	case math.IsNaN(want):
		return fmt.Sprintf("is %.12g, and the second calculation does not know it", got)
	case math.Abs(got-want) <= math.Max(abs, rel*math.Max(math.Abs(got), math.Abs(want))):
		return ""
	}
	return fmt.Sprintf("is %.12g, by the second calculation %.12g", got, want)
}

// TestReference holds every quantity of random axes against a second
// calculation that shares nothing with the first, and whether it is known at
// all. What a phase of no duration would be is not compared: the second
// calculation, which has no phases, never sees it.
//
// More axes: go test ./rules/mechanics -run TestReference -axes 1000000 -seed 7
func TestReference(t *testing.T) {
	type row struct{ rel, abs float64 }
	rows := map[string]row{}
	for _, g := range agreement {
		for _, name := range strings.Fields(g.names) {
			if q := ByName(name); q == nil || q.Leaf() {
				t.Errorf("no quantity is named %s", name)
			}
			if _, twice := rows[name]; twice {
				t.Errorf("%s has two rows", name)
			}
			rows[name] = row{g.rel, g.abs}
		}
	}
	for _, q := range All() {
		if _, is := rows[q.Name]; !q.Leaf() && !is {
			t.Errorf("%s has no row: calculate it in package reference and say how far the two may be apart", q.Name)
		}
	}

	c := NewCalc()
	failures, knowing := map[string]int{}, map[string]int{}
	offShaft, pushed := 0, 0
	if *axes == 0 {
		*axes = amount.Of(10000, 2000)
	}
	for i := range *axes {
		a := reference.Random(rand.New(rand.NewPCG(*seed, uint64(i))))
		leaves := putInto(t, c, a)
		if i == 0 {
			for _, l := range All() {
				if l.Leaf() && !leaves[l.Name] && AnyDepends(computed, l) {
					t.Errorf("quantities depend on %s, which package second does not know", l.Name)
				}
			}
		}
		c.Run()
		r := reference.Calculate(a)
		between := a.Hardness < 58 && a.Hardness != math.Round(a.Hardness)
		for _, q := range computed {
			got, want := []float64{c.V(q)}, r.Values[q.Name]
			if q.Shape != Scalar {
				got = c.Series(q)
			}
			if len(got) != len(want) {
				t.Fatalf("axis %d: %s has %d values, by the second calculation %d", i, q.Name, len(got), len(want))
			}
			rel := rows[q.Name].rel
			if between {
				if q.DependsOn(Hardness) && hardnessPower[q.Name] == 0 {
					t.Fatalf("%s depends on the hardness, and hardnessPower does not say how", q.Name)
				}
				rel += 0.011 * hardnessPower[q.Name]
			}
			abs := rows[q.Name].abs
			if r.Free > 0 && (q == Critical || q == CriticalShare) {
				// The product takes √(1 − P/P_k), which is up to 2 % below the
				// beam-column and never above it; at P_k the two roots of what is
				// left differ most.
				if c.V(Critical) > r.Values[Critical.Name][0]*(1+1e-5)+0.005*r.Free {
					t.Errorf("axis %d of seed %d: critical speed %g under push, of the beam-column %g\n%s", i, *seed, c.V(Critical), r.Values[Critical.Name][0], a)
				}
				rel, abs = 0.02, 0.005*r.Free
				if pushed++; q == CriticalShare {
					if c.V(Critical) < 0.02*r.Free {
						continue
					}
					rel, abs = 0.02+0.005*r.Free/c.V(Critical), 0 // the same, of its inverse
				}
			}
			for j := range got {
				if q.Shape == PerPhase && q != PhaseTime && q != PhaseDistance && r.Values[PhaseTime.Name][j] == 0 {
					continue
				}
				if !math.IsNaN(want[j]) {
					knowing[q.Name]++
				}
				if words := apart(got[j], want[j], rel, abs); words != "" {
					if failures[q.Name]++; failures[q.Name] <= 3 {
						t.Errorf("axis %d of seed %d: %s[%d] %s\n%s", i, *seed, q.Name, j, words, a)
					}
					break
				}
			}
		}
		if c.Known(BearingRigidity) && r.OffShaft {
			offShaft++
		}
	}
	for name, n := range failures {
		t.Errorf("%s: %d axes differ", name, n)
	}
	for name := range rows {
		if *axes >= 1000 && 5*knowing[name] < *axes {
			t.Errorf("%s is known for %d of %d axes only", name, knowing[name], *axes)
		}
	}
	if *axes >= 1000 && 50*offShaft < *axes {
		t.Errorf("of %d axes only %d have their softest place at a bearing", *axes, offShaft)
	}
	t.Logf("%d axes; softest place at a bearing: %d; under thermal push: %d", *axes, offShaft, pushed/2)
}

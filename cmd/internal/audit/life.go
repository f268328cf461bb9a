package audit

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// A Wear is how far the life of an axis's ball screw is used up.
//
// The life is that of the rolling contact at the required reliability and at the
// middle values of what is declared. Years in service are years at the declared
// duty: hours_so_far over the working hours of a year where both are known,
// else the calendar since commissioned. So the used revolutions are
// revolutions_per_year times years in service, and the rest of the life lasts
// life_years less years in service, if the duty stays as declared.
type Wear struct {
	Basis     string    // "hours", "calendar"; "" where the age is not declared
	Years     float64   // in service at the declared duty; NaN where not known
	Used      float64   // revolutions
	Share     float64   // of the life
	Remaining float64   // years; below zero where the life is over
	Out       time.Time // day on which the life ends; zero where not known or too far off
	Duty      float64   // working hours so far over those of the declared duty; NaN where not known
}

// far is from when on a day would say more than is known.
const far = 100

// wear computes the row's wear at the day today.
func (r *Row) wear(today time.Time) Wear {
	nan := math.NaN()
	w := Wear{Years: nan, Used: nan, Share: nan, Remaining: nan, Duty: nan}
	calendar, from := nan, today
	if r.commissioned != noDay {
		day := time.Unix(int64(r.commissioned)*86400, 0).UTC()
		calendar = today.Sub(day).Hours() / 24 / 365.25
		if calendar < 0 { // its life is still to begin
			calendar, from = 0, day
		}
	}
	switch {
	case r.hours == r.hours && r.hoursPerYear > 0:
		w.Basis, w.Years = "hours", r.hours/r.hoursPerYear
		if calendar > 0 {
			w.Duty = w.Years / calendar
		}
	case calendar == calendar:
		w.Basis, w.Years = "calendar", calendar
	default:
		return w
	}
	w.Used = r.revsPerYear * w.Years
	w.Remaining = r.lifeYears - w.Years
	switch {
	case r.lifeYears > 0: // infinite too
		w.Share = w.Years / r.lifeYears
	case r.lifeYears == 0:
		w.Share = math.Inf(1)
	}
	if math.Abs(w.Remaining) <= far {
		w.Out = from.AddDate(0, 0, int(math.Floor(w.Remaining*365.25)))
	}
	return w
}

// A lifeRow is an axis with its wear.
type lifeRow struct {
	*Row
	Wear
}

// aging lists the axes whose remaining life is known, the shortest first, and
// counts the others: those whose age is not declared, and those whose age is
// but whose life is not known.
func (f *Fleet) aging() (list []lifeRow, noAge, noLife int) {
	for _, r := range f.rows {
		w := r.wear(f.today)
		switch {
		case w.Basis == "":
			noAge++
		case w.Remaining != w.Remaining:
			noLife++
		default:
			list = append(list, lifeRow{r, w})
		}
	}
	slices.SortStableFunc(list, func(a, b lifeRow) int { return cmp.Compare(a.Remaining, b.Remaining) })
	return list, noAge, noLife
}

// horizons are the classes of remaining life, in years.
var horizons = []struct {
	name  string
	until float64
}{{"over", 0}, {"within a year", 1}, {"in 1 to 2 years", 2}, {"in 2 to 5 years", 5}, {"later", math.Inf(1)}}

// byHorizon counts the axes of each class.
func byHorizon(list []lifeRow) []int {
	out := make([]int, len(horizons))
	for _, l := range list {
		for i, h := range horizons {
			if l.Remaining <= h.until {
				out[i]++
				break
			}
		}
	}
	return out
}

// A Month is the regreasing work of one calendar month.
type Month struct {
	Month     string // 2027-01
	Axes      int
	Greasings int
}

// Greasing plans the next twelve calendar months, that of today included from
// today on. An axis is due every interval after its day of commissioning; where
// that is not declared, after 1 January of this year. It also counts the axes
// without interval.
func (f *Fleet) Greasing() (months []Month, without int) {
	const count = 12
	first := time.Date(f.today.Year(), f.today.Month(), 1, 0, 0, 0, 0, time.UTC)
	var ends [count + 1]float64 // seconds
	for i := range ends {
		ends[i] = float64(first.AddDate(0, i, 0).Unix())
	}
	for i := range count {
		months = append(months, Month{Month: first.AddDate(0, i, 0).Format("2006-01")})
	}
	for _, r := range f.rows {
		if r.every != r.every {
			without++
			continue
		}
		from := f.countedFrom(r)
		// Rounding must not move a day that falls on the end of a month.
		due := func(until float64) float64 { return math.Max(0, math.Ceil((until-from)/r.every-1e-9)-1) }
		before := due(float64(f.today.Unix()))
		for i := range months {
			n := due(ends[i+1])
			if n > before {
				months[i].Axes++
				months[i].Greasings += int(math.Min(n-before, 1e6))
			}
			before = math.Max(n, before)
		}
	}
	return months, without
}

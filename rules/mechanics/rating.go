package mechanics

import "math"

// What the estimates of a screw's ratings take for what no data sheet gives.
const (
	contactAngle = math.Pi / 4 // rad; usual for Gothic arch grooves
	conformity   = 0.54        // groove radius over ball diameter; usual are 0.52 to 0.56
	restStress   = 4200e6      // Pa; ISO 76 for ball bearings: leaves 1/10,000 of the ball diameter as permanent deformation
	ballSteel    = 206e9       // Pa, modulus of elasticity
	poisson      = 0.3
)

// AngleOfLead is the lead angle φ of a screw in rad, on its ball pitch circle:
// tan φ = Ph/(π·Dpw). Elementary.
func AngleOfLead(lead, circle float64) float64 { return math.Atan(lead / (math.Pi * circle)) }

// TurnDistance is the distance in m between neighbouring turns of balls, at
// right angles to them: (Ph/z)·cos φ. Elementary.
func TurnDistance(lead, circle, starts float64) float64 {
	return lead / starts * math.Cos(AngleOfLead(lead, circle))
}

// ballsPerTurn is the number of balls that fill one turn.
func ballsPerTurn(ball, circle, lead float64) float64 {
	return math.Pi * circle / (math.Cos(AngleOfLead(lead, circle)) * ball)
}

// EstimateStatic estimates the basic static axial load rating C0a in N of a ball
// screw from its geometry in m: C0a = Q·z1·i·sin α·cos φ, where z1 balls fill
// one turn, i turns carry, and Q is the load on one ball that presses it into
// the groove of the shaft with 4200 MPa.
//
// The form is that of ISO 3408-5:2006, 5.1, from memory. Its factor for Q was
// not at hand; Q follows from Hertz's theory (see restLoad). Contact angle 45°,
// groove radius 0.54 ball diameters and balls that fill the turns are taken, so
// the result is a rough one: real screws lie within a factor of about two.
func EstimateStatic(ball, circle, lead, turns float64) float64 {
	phi := AngleOfLead(lead, circle)
	q := restLoad(ball, conformity, ball*math.Cos(contactAngle)/circle)
	return q * ballsPerTurn(ball, circle, lead) * turns * math.Sin(contactAngle) * math.Cos(phi)
}

// restLoad is the load in N on a ball of the diameter ball in m, in the groove
// of an inner ring, at which the contact stress reaches restStress. f is the
// groove radius over the ball diameter, above 0.5, and gamma is Dw·cos α/Dpw,
// from 0 (a flat washer) to below 1. Hertz, with the approximations of Brewe and
// Hamrock (1977) for the ellipse, from memory: Q = σ³·32π·κ·E²·R²/(3·E′²).
func restLoad(ball, f, gamma float64) float64 {
	rx := ball / 2 * (1 - gamma)
	ry := ball / (2 - 1/f)
	kappa := 1.0339 * math.Pow(ry/rx, 0.6360)
	ellipse := 1.0003 + 0.5968*rx/ry
	r := 1 / (1/rx + 1/ry)
	e := ballSteel / (1 - poisson*poisson)
	return math.Pow(restStress, 3) * 32 * math.Pi * kappa * ellipse * ellipse * r * r / (3 * e * e)
}

// EstimateDynamic estimates the basic dynamic axial load rating Ca in N of a ball
// screw from its geometry in m, by the formulas of ISO 3408-5:2006, 5.2, from
// memory: for one turn
//
//	Ci = fc·(cos α)^0.86·z1^(2/3)·Dw^1.8·tan α·(cos φ)^1.3 (N and mm)
//
// and Ca = Ci·i^0.86 for i loaded turns. fc (see raceFactor) is that of thrust
// ball bearings in ISO 281. Contact angle, groove radius and filling are taken
// as for EstimateStatic, and the result is as rough.
func EstimateDynamic(ball, circle, lead, turns float64) float64 {
	phi := AngleOfLead(lead, circle)
	fc := 93.2 * raceFactor(contactAngle, conformity, ball*math.Cos(contactAngle)/circle)
	one := fc * math.Pow(math.Cos(contactAngle), 0.86) * math.Pow(ballsPerTurn(ball, circle, lead), 2.0/3) *
		math.Pow(ball*1e3, 1.8) * math.Tan(contactAngle) * math.Pow(math.Cos(phi), 1.3)
	return one * math.Pow(turns, 0.86)
}

// raceFactor is what fc of ISO 281 for thrust ball bearings depends on, without
// the leading constant: both rings with the same groove, contact angle alpha,
// groove radius f in ball diameters, gamma = Dw·cos α/Dpw.
//
//	(1 − sin α/3)·(1 + ((1−γ)/(1+γ))^(1.72·10/3))^(−3/10)·γ^0.3·(1−γ)^1.39/(1+γ)^(1/3)·(2f/(2f−1))^0.41
func raceFactor(alpha, f, gamma float64) float64 {
	rings := math.Pow(1+math.Pow((1-gamma)/(1+gamma), 1.72*10/3), -0.3)
	return (1 - math.Sin(alpha)/3) * rings * math.Pow(gamma, 0.3) * math.Pow(1-gamma, 1.39) / math.Cbrt(1+gamma) *
		math.Pow(2*f/(2*f-1), 0.41)
}

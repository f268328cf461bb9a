// Package step reads the shape of turned parts from files of ISO 10303-21 (STEP), as CAD
// systems write them by the application protocols 203, 214 and 242.
//
//	model, err := step.Read(file)
//	for _, b := range model.Bodies {
//		p, err := b.Turned()
//	}
//
// It knows only what a turned profile needs: products and how they are assembled, units,
// solids with their faces, and of a face its surface and its vertices. No curve is
// evaluated. Lengths are millimetres, angles radians, whatever the file is written in.
//
// Writers are sloppy, and much is forgiven: order, layout, what is not needed. What would
// change a number is not: a number given twice, a reference to nothing, a length without
// a unit and an end that is missing are errors with their line. A surface that is not
// known is not passed over: Body.Unknown names it, and a profile has a gap there.
//
// A file may come from a stranger. It is read as a stream, of at most MaxSize bytes and
// MaxInstances instances; of what is not needed nothing is kept. Nothing outside of it is
// read, whatever it refers to. The package keeps no state and may be used by several
// goroutines at once.
package step

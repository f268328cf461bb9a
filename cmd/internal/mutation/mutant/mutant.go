// Package mutant decides, in a program rewritten by the mutation tool, which one
// fault is in force. Each function stands in place of an operator, a constant or
// a call and does what that did, unless the fault of its number is chosen.
package mutant

import (
	"cmp"
	"os"
	"runtime/debug"
	"strconv"
	"sync"
)

// The environment variables that choose a fault, and a file to which the numbers
// of all faults that the program comes by are written.
const (
	ChooseEnv = "TRAMMEL_MUTANT"
	TraceEnv  = "TRAMMEL_MUTANT_TRACE"
)

var (
	chosen = choose()
	trace  *os.File
	lock   sync.Mutex
	seen   = map[int]bool{}
)

func choose() int {
	debug.SetMaxStack(64 << 20) // a fault may recur without end
	if name := os.Getenv(TraceEnv); name != "" {
		f, err := os.Create(name)
		if err != nil {
			panic(err)
		}
		trace = f
	}
	n, _ := strconv.Atoi(os.Getenv(ChooseEnv))
	return n
}

// Is reports whether fault n is in force.
func Is(n int) bool {
	if trace != nil {
		note(n)
	}
	return n == chosen
}

func note(n int) {
	lock.Lock()
	defer lock.Unlock()
	if !seen[n] {
		seen[n] = true
		if _, err := trace.WriteString(strconv.Itoa(n) + "\n"); err != nil {
			panic(err)
		}
	}
}

type integer interface {
	~int | ~int8 | ~int16 | ~int32 | ~int64 | ~uint | ~uint8 | ~uint16 | ~uint32 | ~uint64 | ~uintptr
}

type number interface{ integer | ~float32 | ~float64 }

// Int is the whole number v, or one more.
func Int[T integer](n int, v T) T {
	if Is(n) {
		return v + 1
	}
	return v
}

// Float is the number v, or its double, or 1 for 0.
func Float[T ~float32 | ~float64](n int, v T) T {
	if Is(n) {
		if v == 0 {
			return 1
		}
		return 2 * v
	}
	return v
}

// Const is the constant v, or other.
func Const[T any](n int, v, other T) T {
	if Is(n) {
		return other
	}
	return v
}

// Neg is -a, or a.
func Neg[T number](n int, a T) T { return Const(n, -a, a) }

// Add is a + b, or a - b.
func Add[T number](n int, a, b T) T { return Const(n, a+b, a-b) }

// Sub is a - b, or a + b.
func Sub[T number](n int, a, b T) T { return Const(n, a-b, a+b) }

// Mul is a * b, or a / b.
func Mul[T number](n int, a, b T) T {
	if Is(n) {
		return a / b
	}
	return a * b
}

// Div is a / b, or a * b.
func Div[T number](n int, a, b T) T {
	if Is(n) {
		return a * b
	}
	return a / b
}

// Rem is a % b, or a * b.
func Rem[T integer](n int, a, b T) T {
	if Is(n) {
		return a * b
	}
	return a % b
}

// And is a & b, or a | b.
func And[T integer](n int, a, b T) T { return Const(n, a&b, a|b) }

// Or is a | b, or a & b.
func Or[T integer](n int, a, b T) T { return Const(n, a|b, a&b) }

// Shl is a << b, or a >> b.
func Shl[T, S integer](n int, a T, b S) T { return Const(n, a<<b, a>>b) }

// Shr is a >> b, or a << b.
func Shr[T, S integer](n int, a T, b S) T { return Const(n, a>>b, a<<b) }

// Less is a < b; with the first fault a <= b, with the second its contrary.
func Less[T cmp.Ordered](n, contrary int, a, b T) bool {
	return Const(n, a < b, a <= b) != Is(contrary)
}

// LessEqual is a <= b; with the first fault a < b, with the second its contrary.
func LessEqual[T cmp.Ordered](n, contrary int, a, b T) bool {
	return Const(n, a <= b, a < b) != Is(contrary)
}

// Greater is a > b; with the first fault a >= b, with the second its contrary.
func Greater[T cmp.Ordered](n, contrary int, a, b T) bool {
	return Const(n, a > b, a >= b) != Is(contrary)
}

// GreaterEqual is a >= b; with the first fault a > b, with the second its
// contrary.
func GreaterEqual[T cmp.Ordered](n, contrary int, a, b T) bool {
	return Const(n, a >= b, a > b) != Is(contrary)
}

// Min is the lesser of two, or the greater.
func Min[T cmp.Ordered](n int, a, b T) T { return Const(n, min(a, b), max(a, b)) }

// Max is the greater of two, or the lesser.
func Max[T cmp.Ordered](n int, a, b T) T { return Const(n, max(a, b), min(a, b)) }

package fit

import (
	"math"
	"testing"
)

func wantRel(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s = %.16g, want %.16g (relative error %.2g > %.2g)", what, got, want, math.Abs(got-want)/math.Abs(want), tol)
	}
}

package find

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/find/findtest"
	"pintle/fit/mesh"
)

func nan() float64 { return math.NaN() }

// propose finds the joints of a mechanism as the score wants them.
func propose(t testing.TB, m findtest.Mechanism) []findtest.Found {
	t.Helper()
	return asFound(mustFind(t, m.Parts))
}

// agrees says how two results of the same mechanism differ in their sure
// joints, or "": what one is sure of, the other one has too, perhaps less sure.
// Parts of b are numbered by at; lines may be off by a share of the child's
// diagonal.
func agrees(m findtest.Mechanism, a, b []findtest.Found, at func(int) int, tilt, shift float64) string {
	const least, surely = 0.3, 0.7
	back := func(i int) int {
		for k := range m.Parts {
			if at(k) == i {
				return k
			}
		}
		return -1
	}
	for i, list := range [2][2][]findtest.Found{{a, b}, {b, a}} {
		to := at
		if i == 1 {
			to = back
		}
		for _, x := range list[0] {
			if x.Confidence < surely {
				continue
			}
			p, q := to(x.Parent), to(x.Child)
			ok := false
			for _, y := range list[1] {
				if min(p, q) == min(y.Parent, y.Child) && max(p, q) == max(y.Parent, y.Child) && y.Confidence >= least {
					size := min(m.Parts[x.Parent%len(m.Parts)].Mesh.Diagonal(), m.Parts[x.Child%len(m.Parts)].Mesh.Diagonal())
					ok = lineAngle(x.Axis, y.Axis) < tilt && (x.Kind == "prismatic" || fromLine(x.Origin, y.Origin, y.Axis) < shift*size)
				}
			}
			if !ok {
				return fmt.Sprintf("joint %d-%d of confidence %.2f is another one", x.Parent, x.Child, x.Confidence)
			}
		}
	}
	return ""
}

// Another order of the parts, other names, another unit and another place
// change nothing that is sure.
func TestOrderUnitAndPlaceDoNotMatter(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 2))
	scales := []float64{1e-3, 1 / 25.4, 1e3}
	for i, kind := range []string{"arm", "hand", "quadruped", "gripper", "scara", "head", "four-bar"} {
		m := findtest.Made(kind, uint64(i+2))
		before := propose(t, m)
		shuffled := findtest.Shuffled(m, 3)
		at := func(i int) int {
			return slices.IndexFunc(shuffled.Parts, func(p mesh.Part) bool { return p.Name == m.Parts[i].Name })
		}
		if wrong := agrees(m, before, propose(t, shuffled), at, 1e-6, 1e-5); wrong != "" {
			t.Errorf("%s shuffled: %s", m.Name, wrong)
		}
		scale := scales[i%len(scales)]
		x := findtest.About(r3.Vec{}, r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}), 6*r.Float64())
		x.T = r3.Scale(2000*scale, r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
		for k := range before {
			before[k].Origin, before[k].Axis = x.Apply(r3.Scale(scale, before[k].Origin)), x.Turn(before[k].Axis)
		}
		moved := findtest.Renamed(findtest.Moved(findtest.Scaled(m, scale), x))
		same := func(i int) int { return i }
		if wrong := agrees(moved, before, propose(t, moved), same, 1e-5, 1e-4); wrong != "" {
			t.Errorf("%s moved: %s", m.Name, wrong)
		}
	}
}

// A re-cut copy has the same joints, but for a few that are known by little.
func TestCutDoesNotMatter(t *testing.T) {
	both, lost := 0, 0
	for i, kind := range []string{"arm", "hand", "head", "four-bar", "quadruped"} {
		m := findtest.Made(kind, uint64(i+2))
		cut := findtest.Retriangulated(m, 0.3, false, 5)
		a, b := findtest.Score(m, propose(t, m), 0.5), findtest.Score(cut, propose(t, cut), 0.5)
		for k := range a.ByJoint {
			switch {
			case a.ByJoint[k] >= 0 && b.ByJoint[k] >= 0:
				both++
			case a.ByJoint[k] >= 0 || b.ByJoint[k] >= 0:
				lost++
			}
		}
	}
	if 20*lost > both {
		t.Errorf("%d joints are found in both, %d in one only", both, lost)
	}
}

// What is found at rest is found posed; a pose may show more, for parts of a
// kind then stand differently.
func TestPosesAgree(t *testing.T) {
	both, lost := 0, 0
	for _, kind := range []string{"arm", "hand", "quadruped", "head", "scara"} {
		for seed := range uint64(3) {
			rest := findtest.Made(kind, seed)
			posed := findtest.Posed(rest, seed+1)
			s, p := findtest.Score(rest, propose(t, rest), 0.5), findtest.Score(posed, propose(t, posed), 0.5)
			for i := range s.ByJoint {
				switch {
				case s.ByJoint[i] >= 0 && p.ByJoint[i] >= 0:
					both++
				case s.ByJoint[i] >= 0:
					lost++
				}
			}
		}
	}
	if 20*lost > both {
		t.Errorf("%d joints are found in both poses, %d at rest only", both, lost)
	}
}

// Of the joints of about the same confidence about so many are right, on
// mechanisms that the weights were not fitted to.
func TestCalibration(t *testing.T) {
	var n, right, sure [5]float64
	for seed := uint64(500); seed < 503; seed++ {
		for _, kind := range findtest.Kinds() {
			m := findtest.Posed(findtest.Made(kind, seed), seed)
			f := propose(t, m)
			s := findtest.Score(m, f, 0)
			for i, x := range f {
				b := min(int(5*x.Confidence), 4)
				if s.Counts[i] {
					n[b]++
					sure[b] += x.Confidence
					if s.Right[i] {
						right[b]++
					}
				}
			}
		}
	}
	for b := range n {
		if n[b] == 0 {
			continue
		}
		share, mean := right[b]/n[b], sure[b]/n[b]
		t.Logf("%3.0f joints of mean confidence %.2f: %.2f right", n[b], mean, share)
		// Three standard deviations of a share of n[b].
		if slack := 0.05 + 3*math.Sqrt(0.25/n[b]); math.Abs(share-mean) > slack {
			t.Errorf("confidence %.2f, but %.2f are right", mean, share)
		}
	}
}

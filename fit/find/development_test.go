package find

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"pintle/fit/find/findtest"
)

// full asks for every row of the tables, which take minutes:
// PINTLE_TABLE=full go test ./fit/find -run Table -v
func full() bool { return os.Getenv("PINTLE_TABLE") == "full" }

// asFound is a result as the score wants it.
func asFound(res Result) []findtest.Found {
	out := make([]findtest.Found, len(res.Joints))
	for i, c := range res.Joints {
		out[i] = findtest.Found{Parent: c.Parent, Child: c.Child, Kind: string(c.Kind), Origin: c.Origin, Axis: c.Axis, Confidence: c.Confidence}
	}
	return out
}

const leastConfidence = 0.5

// tally is what a row of a table adds up.
type tally struct {
	findtest.Scores
	sure    []float64 // confidence of the found joints, in the order of Right
	classes []findtest.Class

	held, heldRight, heldWrong int // parts fixed to another, found to be, and others
}

// over finds and scores every mechanism.
func over(t testing.TB, mechanisms []findtest.Mechanism) tally {
	t.Helper()
	var sum tally
	for _, m := range mechanisms {
		res := mustFind(t, m.Parts)
		found := asFound(res)
		sum.addHolders(m, res.Fixed)
		s := findtest.Score(m, found, leastConfidence)
		all := findtest.Score(m, found, 0)
		s.Right, s.Counts = all.Right, all.Counts // calibration looks at all of them
		sum.Add(s)
		for _, f := range found {
			sum.sure = append(sum.sure, f.Confidence)
		}
		for _, j := range m.Joints {
			sum.classes = append(sum.classes, j.Class)
		}
	}
	return sum
}

func (s tally) String() string {
	deg := func(q float64) float64 { return findtest.Quantile(s.Angles, q) * 180 / math.Pi }
	pct := func(q float64) float64 { return findtest.Quantile(s.Offsets, q) * 100 }
	return fmt.Sprintf("%4d joints  recall %.3f  precision %.3f  kind %.2f  angle %.5f / %.5f deg  offset %.5f / %.5f %%",
		s.Scorable, s.Recall(), s.Precision(), float64(s.KindRight)/float64(s.Hits), deg(0.5), deg(0.95), pct(0.5), pct(0.95)) + s.holders()
}

func (s tally) holders() string {
	if s.held+s.heldWrong == 0 {
		return ""
	}
	return fmt.Sprintf("  fixed %d of %d, %d wrong", s.heldRight, s.held, s.heldWrong)
}

// faults lists what was missed and what was made up.
func (s tally) faults() string {
	var b strings.Builder
	for _, x := range s.Misses {
		fmt.Fprintf(&b, "\n    %s: %s (%s, %s) missed: %s, %.3g deg, %.3g %%", x.Mechanism, x.Joint.Name, x.Joint.Kind, x.Joint.Class, x.Why, x.Angle*180/math.Pi, 100*x.Offset)
	}
	for _, x := range s.FalsePositives {
		fmt.Fprintf(&b, "\n    %s: %d-%d (%s) made up with %.2f: %s", x.Mechanism, x.Found.Parent, x.Found.Child, x.Found.Kind, x.Found.Confidence, x.Why)
	}
	return b.String()
}

// calibration says for ten bins of confidence how many of the joints are right.
func (s tally) calibration() string {
	var b strings.Builder
	for bin := range 10 {
		n, right, sure := 0, 0, 0.0
		for i, c := range s.sure {
			if s.Counts[i] && min(int(10*c), 9) == bin {
				n, sure = n+1, sure+c
				if s.Right[i] {
					right++
				}
			}
		}
		if n > 0 {
			fmt.Fprintf(&b, "\n    %.1f to %.1f: %3d joints, mean confidence %.2f, share right %.2f", float64(bin)/10, float64(bin+1)/10, n, sure/float64(n), float64(right)/float64(n))
		}
	}
	return b.String()
}

func sharedMechanisms(t *testing.T) []findtest.Mechanism {
	t.Helper()
	var all []findtest.Mechanism
	for _, name := range findtest.SharedNames() {
		all = append(all, findtest.Shared(t, name, false), findtest.Shared(t, name, true))
	}
	return all
}

// damaged is the same damage done to every mechanism.
func damaged(all []findtest.Mechanism, do func(findtest.Mechanism) findtest.Mechanism) []findtest.Mechanism {
	out := make([]findtest.Mechanism, len(all))
	for i, m := range all {
		out[i] = do(m)
	}
	return out
}

func TestTableShared(t *testing.T) {
	all := sharedMechanisms(t)
	s := over(t, all)
	t.Logf("as they are           %v%s", s, s.faults())
	t.Logf("calibration%s", s.calibration())
	if s.Recall() < 0.97 || s.Precision() < 0.97 {
		t.Errorf("recall %.3f, precision %.3f: it has done better", s.Recall(), s.Precision())
	}
	if full() {
		damages(t, all)
	}
}

// Made mechanisms as they come, by class, at rest and posed; more of them in
// the full table.
func TestTableMade(t *testing.T) {
	n := 1
	if full() {
		n = 16
	}
	rest := findtest.Trade(n)
	posed := damaged(rest, func(m findtest.Mechanism) findtest.Mechanism { return findtest.Posed(m, 1) })
	var found [2]tally
	for i, all := range [][]findtest.Mechanism{rest, posed} {
		found[i] = over(t, all)
		s := found[i]
		t.Logf("%-21s %v%s\n    calibration%s", []string{"at rest", "posed"}[i], s, s.faults(), s.calibration())
		byClass(t, s)
		if s.Recall() < 0.8 || s.Precision() < 0.85 {
			t.Errorf("recall %.3f, precision %.3f: it has done better", s.Recall(), s.Precision())
		}
	}
	agreement(t, found[0], found[1])
	if full() {
		damages(t, findtest.Trade(3))
		kinds(t)
	}
}

// agreement logs how many of the joints that are found in one pose are found in
// the other.
func agreement(t *testing.T, a, b tally) {
	t.Helper()
	both, either := 0, 0
	for i := range a.ByJoint {
		x, y := a.ByJoint[i] >= 0, b.ByJoint[i] >= 0
		if x || y {
			either++
		}
		if x && y {
			both++
		}
	}
	t.Logf("%d of %d joints found in a pose are found in both", both, either)
	if either == 0 || float64(both) < 0.9*float64(either) {
		t.Errorf("%d of %d joints agree", both, either)
	}
}

// addHolders counts the parts that are fixed to another one and are said to be,
// and the others that are said to be.
func (s *tally) addHolders(m findtest.Mechanism, fixed []Fixed) {
	s.held += len(m.Fixed)
	for _, x := range fixed {
		if slices.ContainsFunc(m.Fixed, func(p [2]int) bool { return p[1] == x.Part && p[0] == x.To }) {
			s.heldRight++
		} else {
			s.heldWrong++
		}
	}
}

// byClass logs the recall of every class.
func byClass(t *testing.T, s tally) {
	t.Helper()
	for _, class := range findtest.Classes() {
		n, hits := 0, 0
		for i, c := range s.classes {
			if c == class {
				n++
				if s.ByJoint[i] >= 0 {
					hits++
				}
			}
		}
		if n > 0 {
			t.Logf("    %-12s %4d joints  recall %.3f", class, n, float64(hits)/float64(n))
		}
	}
}

// kinds logs a row for every kind of mechanism.
func kinds(t *testing.T) {
	t.Helper()
	for _, kind := range findtest.Kinds() {
		var all []findtest.Mechanism
		for seed := range uint64(6) {
			all = append(all, findtest.Made(kind, 1000+seed))
		}
		s := over(t, all)
		t.Logf("%-21s %v%s", kind, s, s.faults())
	}
}

// damages logs a row for every kind of damage.
func damages(t *testing.T, all []findtest.Mechanism) {
	t.Helper()
	row := func(name string, do func(findtest.Mechanism) findtest.Mechanism) {
		t.Helper()
		s := over(t, damaged(all, do))
		t.Logf("%-21s %v%s", name, s, s.faults())
	}
	for _, share := range []float64{0.3, 0.1} {
		row(fmt.Sprintf("%.0f %% of triangles", 100*share), func(m findtest.Mechanism) findtest.Mechanism { return findtest.Decimated(m, share) })
	}
	for _, share := range []float64{1e-4, 5e-4} {
		row(fmt.Sprintf("noise %g", share), func(m findtest.Mechanism) findtest.Mechanism { return findtest.Noisy(m, share, 1) })
	}
	row("noise 1 % of radius", func(m findtest.Mechanism) findtest.Mechanism { return findtest.NoisyByRadius(m, 0.01, 1) })
	row("re-cut planes", func(m findtest.Mechanism) findtest.Mechanism { return findtest.Retriangulated(m, 0.3, false, 1) })
	row("re-cut", func(m findtest.Mechanism) findtest.Mechanism { return findtest.Retriangulated(m, 0.3, true, 1) })
	row("odd parts hulled", func(m findtest.Mechanism) findtest.Mechanism {
		return findtest.Hulled(m, findtest.EveryOther(m, true)...)
	})
	row("even parts hulled", func(m findtest.Mechanism) findtest.Mechanism {
		return findtest.Hulled(m, findtest.EveryOther(m, false)...)
	})
	row("odd parts boxed", func(m findtest.Mechanism) findtest.Mechanism {
		return findtest.Boxed(m, findtest.EveryOther(m, true)...)
	})
	row("inches, tumbled", func(m findtest.Mechanism) findtest.Mechanism {
		return findtest.Renamed(findtest.Shuffled(findtest.Tumbled(findtest.Scaled(m, 39.37), 400, 2), 2))
	})
}

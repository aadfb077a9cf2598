package meshio

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// parseFloat must agree with strconv to the last bit, whatever the spelling.
func TestParseFloatAgainstStrconv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := math.Float64frombits(rapid.Uint64().Draw(t, "bits"))
		if rapid.Bool().Draw(t, "plain") {
			v = float64(rapid.Int64Range(-1e16, 1e16).Draw(t, "digits")) / math.Pow(10, float64(rapid.IntRange(0, 22).Draw(t, "places")))
		}
		text := strconv.FormatFloat(v, rapid.SampledFrom([]byte("efgEG")).Draw(t, "form"), rapid.IntRange(-1, 20).Draw(t, "precision"), 64)
		want, err := strconv.ParseFloat(text, 64)
		got, ok := parseFloat([]byte(text))
		if !ok || err != nil && !math.IsInf(want, 0) {
			t.Fatalf("%s: not read, strconv says %v, %v", text, want, err)
		}
		if math.Float64bits(got) != math.Float64bits(want) && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Fatalf("%s: got %v, want %v", text, got, want)
		}
	})
}

func TestParseFloatText(t *testing.T) {
	for text, want := range map[string]float64{
		"0": 0, "-0": math.Copysign(0, -1), "+1.5": 1.5, ".5": .5, "5.": 5, "1e3": 1000, "1E+03": 1000, "1e-3": .001,
		"123456789012345678901234567890": 123456789012345678901234567890., "9007199254740993": 9007199254740992,
		"1e400": math.Inf(1), "-1e400": math.Inf(-1), "1e-400": 0, "inf": math.Inf(1), "-Infinity": math.Inf(-1),
		"nan": math.NaN(), "-nan": math.NaN(), "-nan(ind)": math.NaN(), "NAN(0x7)": math.NaN(), "1.#QNAN": math.NaN(), "-1.#IND": math.NaN(), "1.#INF": math.NaN(),
	} {
		got, ok := parseFloat([]byte(text))
		if !ok || math.Float64bits(got) != math.Float64bits(want) && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Errorf("%s: got %v, %v, want %v", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "-", ".", "e5", "1e", "1e+", "1,5", "1_000", "0x", "1.2.3", "--1", "1-", "one", "1e5x", "1f", "∞", "nano"} {
		if v, ok := parseFloat([]byte(text)); ok {
			t.Errorf("%q was read as %v", text, v)
		}
	}
	long := make([]byte, 100_000)
	for i := range long {
		long[i] = '1'
	}
	if _, ok := parseFloat(long); ok {
		t.Error("100,000 digits were read as a number")
	}
}

func TestParseInt(t *testing.T) {
	for text, want := range map[string]int64{"0": 0, "-1": -1, "+7": 7, "999999999999999999": 999999999999999999, "-007": -7} {
		if got, ok := parseInt([]byte(text)); !ok || got != want {
			t.Errorf("%s: got %v, %v, want %v", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "-", "+", "1.0", "1e3", "9999999999999999999", "0x1", " 1"} {
		if v, ok := parseInt([]byte(text)); ok {
			t.Errorf("%q was read as %v", text, v)
		}
	}
}

// Unique names: no two alike, first uses untouched, the rest begin with their name.
func TestUniqueNames(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOf(rapid.SampledFrom([]string{"a", "b", "a.2", "a.3", "a.2.2"})).Draw(t, "names")
		out := uniqueNames(names)
		used, first := map[string]bool{}, map[string]bool{}
		for i, n := range out {
			if used[n] {
				t.Fatalf("%q twice in %q from %q", n, out, names)
			}
			used[n] = true
			if !first[names[i]] && n != names[i] {
				t.Fatalf("the first %q became %q", names[i], n)
			}
			first[names[i]] = true
			if n[:1] != names[i][:1] {
				t.Fatalf("%q became %q", names[i], n)
			}
		}
	})
}

// A chain of maps applied one by one, and composed.
func TestAffine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num := rapid.Float64Range(-10, 10)
		draw := func(name string) affine {
			q := [4]float64{num.Draw(t, name), num.Draw(t, name), num.Draw(t, name), 0.5}
			a, ok := fromTRS([3]float64{num.Draw(t, name), 1, 2}, q, [3]float64{num.Draw(t, name), 2, -1})
			if !ok {
				t.Fatal("no transform")
			}
			return a
		}
		a, b := draw("a"), draw("b")
		p := a.after(b).point(a.x)
		q := a.point(b.point(a.x))
		if d := math.Abs(p.X-q.X) + math.Abs(p.Y-q.Y) + math.Abs(p.Z-q.Z); d > 1e-9 {
			t.Fatalf("composed and one by one differ by %g", d)
		}
		if got, want := a.after(b).det(), a.det()*b.det(); math.Abs(got-want) > 1e-9 {
			t.Fatalf("determinant %v, want the product %v", got, want)
		}
	})
	// Axes of a flattened and of a vanished frame.
	flat, _ := fromTRS([3]float64{}, [4]float64{0, 0, 0, 1}, [3]float64{2, 0, 3})
	if got := flat.axes(); got != identity().axes() {
		t.Errorf("axes %v, want those of the identity", got)
	}
	if got := (affine{}).axes(); got != identity().axes() {
		t.Errorf("axes %v, want those of the identity", got)
	}
}

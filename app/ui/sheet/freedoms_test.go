package sheet

import (
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"pintle/app/doc"
	"pintle/kinematics"
)

func TestEveryKindHasItsWord(t *testing.T) {
	seen := map[string]bool{}
	for _, k := range kinematics.Kinds() {
		text := kindText(k)
		if seen[text] || kindOfText(text) != k {
			t.Errorf("%s is called %q, which means %s", k, text, kindOfText(text))
		}
		seen[text] = true
	}
	if len(kinds()) != len(kinematics.Kinds()) {
		t.Errorf("%d kinds to choose from, there are %d", len(kinds()), len(kinematics.Kinds()))
	}
}

// A ball joint has a pair of fields for each freedom and one for its lean.
func TestLimitsOfEveryFreedomAreTyped(t *testing.T) {
	s, d := opened(t)
	hinged(t, d, "wrist")
	d.SetKind(kinematics.Spherical)
	fields := func() []*field {
		j, _, _ := d.Joint()
		b := &builder{sheet: s, desk: d}
		b.limits(j)
		var all []*field
		for _, o := range b.objects {
			all = append(all, fieldsIn(o)...)
		}
		return all
	}
	if n := len(fields()); n != 7 {
		t.Fatalf("%d fields", n)
	}
	pair := func(i int, lo, hi string) {
		f := fields()
		f[i].Text, f[i+1].Text = lo, hi
		f[i+1].commit()
	}
	pair(0, "-10", "20")
	pair(4, "-90", "90")
	last := fields()[6]
	last.Text = "35"
	last.commit()
	j, _, _ := d.Joint()
	deg := math.Pi / 180
	want := []kinematics.Range{{Lower: -10 * deg, Upper: 20 * deg}, kinematics.Unlimited(), {Lower: -90 * deg, Upper: 90 * deg}}
	for i, w := range want {
		if r, _ := j.Limit(i); r != w && !(math.Abs(r.Upper-w.Upper)+math.Abs(r.Lower-w.Lower) < 1e-12) {
			t.Errorf("limits of %s: %v, want %v", j.Kind.Freedom(i), r, w)
		}
	}
	if j.Cone == nil || math.Abs(j.Cone.Max[0]-35*deg) > 1e-12 {
		t.Errorf("cone %v", j.Cone)
	}
}

// What a value follows is chosen from all others, by name.
func TestFollowsOffersAllOtherValues(t *testing.T) {
	s, d := opened(t)
	hinged(t, d, "wrist")
	d.SetKind(kinematics.Cylindric)
	j, _, _ := d.Joint()
	b := &builder{sheet: s, desk: d}
	b.follows(j)
	var choose *widget.Select
	for _, o := range b.objects {
		choose = firstSelect(o)
	}
	if choose == nil || len(choose.Options) != 2 || choose.Options[1] != j.Name+", slide along hinge" || choose.Selected != nothing {
		t.Fatalf("choice %+v", choose)
	}
	choose.SetSelected(choose.Options[1])
	c, ok := d.Follows(0)
	if !ok || c.Driver != (doc.ValueRef{Joint: j.Name, Freedom: 1}) || c.Law.Ratio != 1 {
		t.Fatalf("coupling %+v", c)
	}
	b = &builder{sheet: s, desk: d}
	b.follows(j)
	f := fieldsIn(b.objects[2])
	if len(f) != 2 {
		t.Fatalf("%d fields for the law", len(f))
	}
	f[0].Text = "−2.5" // degrees a millimetre
	f[0].commit()
	if c, _ = d.Follows(0); math.Abs(c.Law.Ratio+2.5*math.Pi/180) > 1e-15 {
		t.Errorf("ratio %v", c.Law.Ratio)
	}
	f[0].Text = "-18/45"
	f[0].commit()
	if c, _ = d.Follows(0); math.Abs(c.Law.Ratio+0.4*math.Pi/180) > 1e-15 {
		t.Errorf("gears of 18 and 45 teeth gave the ratio %v", c.Law.Ratio)
	}
	for _, bad := range []string{"1/0", "x/2", "1/", "/2", "1/2/3", ""} {
		if r, ok := parseRatio(bad); ok {
			t.Errorf("%q is the ratio %v", bad, r)
		}
	}
	f[0].Text = "−2.5"
	f[0].commit()
	// By a curve it starts out as the line, and its points are typed.
	b = &builder{sheet: s, desk: d}
	b.follows(j)
	how := firstSelect(b.objects[1])
	how.SetSelected(how.Options[1])
	c, _ = d.Follows(0)
	if c.Law.Kind != kinematics.LawCurve || len(c.Law.Curve) != 3 || math.Abs(c.Law.Curve[0].Follower-2.5*math.Pi/180) > 1e-15 {
		t.Fatalf("law %+v", c.Law)
	}
	told := 0
	d.OnProblem = func(error) { told++ }
	b = &builder{sheet: s, desk: d}
	b.follows(j)
	f = fieldsIn(b.objects[2])
	f[0].Text = "0:0, 10:90"
	f[0].commit()
	if c, _ = d.Follows(0); len(c.Law.Curve) != 2 || c.Law.Curve[1].Driver != 10 || math.Abs(c.Law.Curve[1].Follower-math.Pi/2) > 1e-15 || told != 0 {
		t.Errorf("law %+v, told %d times", c.Law, told)
	}
	for _, bad := range []string{"0:0, 10", "0:0, x:3", "", "10:0, 0:3"} {
		f[0].was = "-"
		f[0].Text = bad
		f[0].commit()
	}
	if told != 4 {
		t.Errorf("told %d times of 4 bad curves", told)
	}
}

func firstSelect(o fyne.CanvasObject) *widget.Select {
	switch x := o.(type) {
	case *widget.Select:
		return x
	case *fyne.Container:
		for _, c := range x.Objects {
			if s := firstSelect(c); s != nil {
				return s
			}
		}
	}
	return nil
}

package sheet

import (
	"math"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/app/ui/desk"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
	"pintle/assets"
	"pintle/fit"
	"pintle/kinematics"
	"pintle/viewport"
)

// opened is a sheet over the first demo.
func opened(t *testing.T) (*Sheet, *desk.Desk) {
	t.Helper()
	test.NewTempApp(t).Settings().SetTheme(style.New(false))
	queue := make(chan func(), 1<<14)
	r := job.NewRunner(func(f func()) { queue <- f })
	t.Cleanup(r.Close)
	d := desk.New(r)
	d.OnProblem = func(err error) { t.Error(err) }
	d.OpenDemo(assets.Demos()[0].Name, t.TempDir())
	for late := time.After(2 * time.Minute); d.Session() == nil; {
		select {
		case f := <-queue:
			f()
		case <-late:
			t.Fatal("the demo does not open")
		}
	}
	s := New(d, Callbacks{})
	w := test.NewTempWindow(t, s.Object())
	w.Resize(fyne.NewSize(336, 900))
	return s, d
}

// words collects every text below o in reading order.
func words(o fyne.CanvasObject) []string {
	var out []string
	switch x := o.(type) {
	case *canvas.Text:
		out = append(out, x.Text)
	case *container.Scroll:
		out = append(out, words(x.Content)...)
	case *fyne.Container:
		for _, c := range x.Objects {
			out = append(out, words(c)...)
		}
	case *widget.RichText:
		out = append(out, x.String())
	case fyne.Widget:
		for _, c := range test.WidgetRenderer(x).Objects() {
			out = append(out, words(c)...)
		}
	}
	return out
}

func shows(s *Sheet) string { return strings.Join(words(s.box), "\n") }

func TestModelSheetCountsWhatIsThere(t *testing.T) {
	s, d := opened(t)
	d.SetStep(desk.StepModel)
	d.SelectPart(0)
	s.Update(nil)
	got := shows(s)
	for _, want := range []string{"tern-arm.obj", "triangles", "60 008", "Split into shells", "Hide"} {
		if !strings.Contains(got, want) {
			t.Errorf("the model sheet lacks %q:\n%s", want, got)
		}
	}
}

func TestPickSheetSaysWhatToDoNext(t *testing.T) {
	s, _ := opened(t)
	s.Update(nil)
	got := shows(s)
	if !strings.Contains(got, "OR PICK ONE BY HAND") || !strings.Contains(got, "1 of ") {
		t.Errorf("the pick sheet gives no next step:\n%s", got)
	}
}

func TestTypingIsNotLost(t *testing.T) {
	s, d := opened(t)
	d.SetStep(desk.StepModel)
	d.SelectPart(0)
	s.Update(nil)
	f := findField(s.box)
	if f == nil {
		t.Fatal("the model sheet has no entry")
	}
	f.SetText("half a na")
	before := s.box.Objects[0]
	s.Update(f)
	if s.box.Objects[0] != before {
		t.Error("the sheet was built anew under the user's hands")
	}
	f.SetText("base")
	f.OnSubmitted(f.Text)
	if d.Session().Parts[0].Name != "base" {
		t.Errorf("after Return the part is called %q", d.Session().Parts[0].Name)
	}
	s.Update(f)
	if s.box.Objects[0] == before {
		t.Error("the sheet does not follow once the text is handed on")
	}
}

func findField(o fyne.CanvasObject) *field {
	switch x := o.(type) {
	case *field:
		return x
	case *fyne.Container:
		for _, c := range x.Objects {
			if f := findField(c); f != nil {
				return f
			}
		}
	}
	return nil
}

func TestQualityWarnsOfAShortArc(t *testing.T) {
	s, d := opened(t)
	b := &builder{sheet: s, desk: d}
	b.quality(fit.Datum{Kind: fit.Cylinder, Radius: 4, Quality: fit.Quality{Count: 9, Arc: 0.35, RMS: 0.01, FormError: 0.03}}, "mm")
	row, ok := b.objects[0].(*paper.Row)
	if !ok {
		t.Fatalf("the first row is a %T", b.objects[0])
	}
	row.Resize(fyne.NewSize(300, 21))
	got := strings.Join(words(row), " ")
	if !strings.Contains(got, "9 points over 20°") {
		t.Errorf("row %q", got)
	}
}

func TestAimTextNamesEveryChoice(t *testing.T) {
	for want, aim := range map[string]kinematics.Aim{
		aimDatum:                {},
		aimPoint:                {At: kinematics.Reference{Kind: kinematics.FromPoint, Point: r3.Vec{X: 1}}},
		"side: a picked point":  {Role: kinematics.RoleSide, At: kinematics.Reference{Kind: kinematics.FromPoint}},
		"joint elbow":           {At: kinematics.Reference{Kind: kinematics.FromJoint, Joint: "elbow", Feature: kinematics.TheirOrigin}},
		"hinge of elbow":        {At: kinematics.Reference{Kind: kinematics.FromJoint, Joint: "elbow", Feature: kinematics.TheirHinge}},
		"model axis -Z":         {At: kinematics.Reference{Kind: kinematics.FromWorld, World: kinematics.MinusZ}},
		"reach of spine":        {At: kinematics.Reference{Kind: kinematics.FromJoint, Joint: "spine"}},
		"a picked edge or axis": {Role: kinematics.RoleReach, At: kinematics.Reference{Kind: kinematics.FromDirection}},
	} {
		if got := aimText(aim, kinematics.RoleReach); got != want {
			t.Errorf("%+v is called %q, want %q", aim.At, got, want)
		}
	}
}

// hinged makes a hinge of the first patch of a part that gives one.
func hinged(t *testing.T, d *desk.Desk, part string) doc.Joint {
	t.Helper()
	tell := d.OnProblem
	defer func() { d.OnProblem = tell }()
	d.OnProblem = func(error) {} // flat patches give none
	i := d.Session().Doc.PartIndex(part)
	m := d.Session().Parts[i].Mesh
	for tri := range m.Triangles() {
		h := viewport.Hit{Mode: viewport.PickPatch, Part: i, Triangle: tri, Vertex: -1, Edge: -1, Patch: doc.PatchAt(m, tri)}
		d.Click(h)
		d.MakeHinge()
		if j, _, ok := d.Joint(); ok {
			return j
		}
		d.ClearPicks()
	}
	t.Fatalf("no patch of %q gives a hinge", part)
	return doc.Joint{}
}

func fieldsIn(o fyne.CanvasObject) []*field {
	switch x := o.(type) {
	case *field:
		return []*field{x}
	case *fyne.Container:
		var all []*field
		for _, c := range x.Objects {
			all = append(all, fieldsIn(c)...)
		}
		return all
	}
	return nil
}

// Limits are typed in degrees for a hinge and in model units for a slider, and
// what was typed for one means nothing for the other.
func TestLimitsAreTypedInTheJointsOwnUnit(t *testing.T) {
	s, d := opened(t)
	hinged(t, d, "wrist")
	limits := func(lo, hi string) *kinematics.Range {
		t.Helper()
		j, _, _ := d.Joint()
		b := &builder{sheet: s, desk: d}
		b.limits(j)
		f := fieldsIn(b.objects[0])
		if len(f) != 2 {
			t.Fatalf("%d fields for limits", len(f))
		}
		f[0].Text = lo
		f[0].commit()
		f[1].Text = hi
		f[1].commit()
		j, _, _ = d.Joint()
		if r, ok := j.Limit(0); ok {
			return &r
		}
		return nil
	}
	if l := limits("−30", "45°"); l == nil || math.Abs(l.Lower+math.Pi/6) > 1e-12 || math.Abs(l.Upper-math.Pi/4) > 1e-12 {
		t.Errorf("-30 to 45 degrees became %v", l)
	}
	d.SetKind(kinematics.Prismatic)
	if j, _, _ := d.Joint(); j.Limits != nil {
		t.Errorf("angles became lengths: %v", j.Limits)
	}
	if l := limits("−2.5", "40"); l == nil || l.Lower != -2.5 || l.Upper != 40 {
		t.Errorf("-2.5 to 40 mm became %v", l)
	}
	told := 0
	d.OnProblem = func(error) { told++ }
	if l := limits("41", "40"); told == 0 || l == nil || l.Lower != -2.5 {
		t.Errorf("limits the wrong way round: told %d times, limits %v", told, l)
	}
}

func TestBoundsAreRoundedUp(t *testing.T) {
	for v, want := range map[float64]string{0.01234: "0.013", 0.01: "0.010", 0.000911: "0.00092", 3.12: "3.2", 0: "0", 12: "12", 0.0999: "0.100"} {
		if got := roundedUp(v); got != want {
			t.Errorf("%v is set as %s, want %s", v, got, want)
		}
	}
}

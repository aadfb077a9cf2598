package find

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/find/findtest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// forearms makes two arms of plain blocks, the second turned at its elbow and
// anywhere in space; nothing of them is round.
func forearms(elbow float64, second mesh.Rigid, mirrored bool) []mesh.Part {
	upper := mesh.Join(meshtest.Box(r3.Vec{X: -20, Y: -3, Z: -4}, r3.Vec{X: 2, Y: 3, Z: 0}), meshtest.Box(r3.Vec{X: -20, Y: -3, Z: 0}, r3.Vec{X: -15, Y: 2, Z: 3}))
	lower := mesh.Join(meshtest.Box(r3.Vec{X: -2, Y: -3, Z: 0.1}, r3.Vec{X: 18, Y: 3, Z: 3}), meshtest.Box(r3.Vec{X: 12, Y: -5, Z: 3}, r3.Vec{X: 18, Y: 2, Z: 4}))
	turned := mesh.Moved(lower, findtest.About(r3.Vec{}, r3.Vec{Z: 1}, elbow))
	other := []*mesh.Mesh{mesh.Moved(upper, second), mesh.Moved(turned, second)}
	if mirrored {
		other = []*mesh.Mesh{flipped(other[0]), flipped(other[1])}
	}
	return []mesh.Part{{Name: "upper 1", Mesh: upper}, {Name: "lower 1", Mesh: lower}, {Name: "upper 2", Mesh: other[0]}, {Name: "lower 2", Mesh: other[1]}}
}

// Two arms of a kind that stand differently show their hinge without a circle.
func TestTwinsShowTheAxis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		elbow := rapid.Float64Range(0.1, 2).Draw(t, "elbow")
		if rapid.Bool().Draw(t, "other way") {
			elbow = -elbow
		}
		second := anyMotion(t)
		second.T = r3.Add(second.T, r3.Vec{Y: 150})
		parts := forearms(elbow, second, rapid.Bool().Draw(t, "mirrored"))
		res, err := Joints(t.Context(), parts, Options{})
		if err != nil || len(res.Joints) != 2 {
			t.Fatalf("%d joints, %v", len(res.Joints), err)
		}
		for _, c := range res.Joints {
			if min(c.Parent, c.Child) != 0 {
				continue
			}
			a, d := lineAngle(c.Axis, r3.Vec{Z: 1}), fromLine(r3.Vec{}, c.Origin, c.Axis)
			if a > 1e-7 || d > 1e-6 || c.Evidence.Twins == 0 || c.Confidence < 0.5 {
				t.Errorf("axis %g rad and %g off, %d twins, confidence %g", a, d, c.Evidence.Twins, c.Confidence)
			}
			if !strings.Contains(c.Evidence.Words, "two of a kind stand turned against each other") {
				t.Errorf("words %q", c.Evidence.Words)
			}
		}
	})
}

// Arms that stand alike, and parts of a kind that are joined to one another,
// show nothing.
func TestTwinsAlikeShowNothing(t *testing.T) {
	res := mustFind(t, forearms(0, findtest.Shift(r3.Vec{Y: 150}), false))
	for _, c := range res.Joints {
		if c.Evidence.Twins > 0 || c.Confidence >= 0.5 {
			t.Errorf("%+v", c)
		}
	}
	x := findtest.Shift(r3.Vec{Z: 1.6})
	pair := []mesh.Part{{Name: "a", Mesh: hook()}, {Name: "b", Mesh: mesh.Moved(hook(), findtest.Then(x, findtest.About(r3.Vec{}, r3.Vec{Z: 1}, 0.7)))}}
	for _, c := range mustFind(t, pair).Joints {
		if c.Evidence.Twins > 0 {
			t.Errorf("one pair alone: %+v", c)
		}
	}
}

// The axis of a known turn, against the turn it was made of.
func TestTwinOfTurn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one := rapid.Float64Range(-1, 1)
		axis := r3.Unit(r3.Vec{X: one.Draw(t, "ax"), Y: one.Draw(t, "ay"), Z: 1})
		origin := r3.Vec{X: one.Draw(t, "ox"), Y: one.Draw(t, "oy"), Z: one.Draw(t, "oz")}
		angle := rapid.Float64Range(0.05, 3).Draw(t, "angle")
		l := link{size: 5, za: []spot{
			{at: r3.Vec{X: 3}, area: 1, near: 1}, {at: r3.Vec{Y: 3}, area: 1, near: 1}, {at: r3.Vec{Z: 3}, area: 1, near: 1}, {at: r3.Vec{X: -3}, area: 1, near: 1},
		}}
		still := likeness{Rigid: anyMotion(t)}
		turned := still.after(likeness{Rigid: findtest.About(origin, axis, angle)})
		got, ok := l.twin(still, turned)
		if !ok {
			t.Fatal("no twin")
		}
		if a, d := lineAngle(got.axis, axis), fromLine(origin, got.origin, got.axis); a > 1e-9 || d > 1e-8 || math.Abs(got.angle-angle) > 1e-9 {
			t.Errorf("axis %g and %g off, turned by %g, want %g", a, d, got.angle, angle)
		}
		slid := turned
		slid.T = r3.Add(slid.T, still.Turn(r3.Scale(0.1, axis)))
		if _, ok := l.twin(still, slid); ok {
			t.Error("a screw passes for a turn")
		}
		if _, ok := l.twin(still, still); ok {
			t.Error("no motion passes for a turn")
		}
		if _, ok := l.twin(still, likeness{Rigid: turned.Rigid, mirrors: true}); ok {
			t.Error("a mirrored part beside one that is not passes")
		}
	})
}

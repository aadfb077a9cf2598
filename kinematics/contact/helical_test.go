package contact

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// thread is a V thread, root to crest to root, with n steps to the turn.
func thread(root, depth, lead, z0, turns float64, n int, phase float64) solid {
	at := func(i, j int) r3.Vec {
		a := turn*float64(i)/float64(n) + phase
		r := root + depth*float64(j%2)
		return r3.Vec{X: r * math.Cos(a), Y: r * math.Sin(a), Z: z0 + lead*(a/turn+float64(j)/2)}
	}
	var s solid
	for i := range int(turns * float64(n)) {
		for j := range 2 {
			s = append(s, quad(at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1))...)
		}
	}
	return s
}

// A bolt turns in a nut with its own thread, whatever either is tessellated
// like, until its head comes down: after gap / pitch.
func TestBoltInNut(t *testing.T) {
	const lead = 2.0
	head := lathe([][2]float64{{0, 9.6}, {9, 9.6}, {9, 12}, {0, 12}}, 40, 0.1, turn)
	plate := tube(6, 12, -3, 9, 36, 0)
	for _, n := range []int{48, 60, 37} {
		for _, phase := range []float64{0, 0.05} {
			t.Run(fmt.Sprintf("%d, phase %g", n, phase), func(t *testing.T) {
				bolt := joined(thread(4, 1, lead, -8, 8, 48, 0), head)
				nut := joined(thread(4, 1, lead, -4, 3, n, phase).reversed(), plate)
				screws(t, lead/turn, bolt, nut, func(t *testing.T, r Result, within float64) {
					wantAngle(t, "down", r.Lower, -0.6*turn/lead, within)
					if r.Upper != nil && r.Upper.Value < 6 {
						t.Errorf("upper %+v, want none before the thread ends", *r.Upper)
					}
					wantIgnored(t, r.Rest)
					if !has(r.Rest, Mating) || has(r.Rest, Overlap) {
						t.Errorf("at rest %v, want threads that mate", kinds(r.Rest))
					}
				})
			})
		}
	}
}

// A thread of another lead jams, a cone that looks like one is no thread.
func TestWrongThread(t *testing.T) {
	bolt, nut := thread(4, 1, 2, -8, 8, 48, 0), thread(4.1, 1, 2, -4, 3, 48, 0).reversed()
	r := freeRange(t, sceneBy(t, bolt, nut, Screw(zAxis, 3/turn), Options{}))
	if r.Lower == nil || r.Upper == nil || r.Upper.Value > 2 || r.Lower.Value < -2 {
		t.Errorf("%+v %+v: want contact on either flank soon", r.Lower, r.Upper)
	}
	// A cone comes down in a cone after gap / pitch: tan 45 degrees, 0.5 apart.
	cone := lathe([][2]float64{{0, 1}, {3, 4}, {3, 6}, {0, 6}}, 32, 0, turn)
	seat := lathe([][2]float64{{0, 0.5}, {0, -2}, {6, -2}, {6, 6.5}}, 32, 0, turn)
	for _, pitch := range []float64{0.5, 0.05} {
		r = freeRange(t, sceneBy(t, cone, seat, Screw(zAxis, pitch), Options{}))
		if r.Lower == nil || math.Abs(r.Lower.Value) > 0.5/pitch+1e-9 || math.Abs(r.Lower.Value) < 0.4/pitch {
			t.Errorf("pitch %g: lower %+v, want one near %g", pitch, r.Lower, -0.5/pitch)
		}
	}
}

// The share of carried triangles: all of a thread, none of a hexagon's flats.
func TestThreadsAreCarried(t *testing.T) {
	for name, c := range map[string]struct {
		s     solid
		pitch float64
		want  float64
	}{
		"thread":        {thread(4, 1, 2, 0, 5, 48, 0), 2 / turn, 1},
		"another pitch": {thread(4, 1, 2, 0, 5, 48, 0), 3 / turn, 0},
		"left-handed":   {thread(4, 1, 2, 0, 5, 48, 0), -2 / turn, 0},
		"hexagon":       {pin(4, 0, 3, 6, 0), 2 / turn, 0},
		"box":           {box(3, 9, -1, 1, 0, 2), 2 / turn, 0},
		"coarse lump": {tetra(
			r3.Vec{X: 1.413, Y: 4.121, Z: 0.263}, r3.Vec{X: 3.013, Y: -0.844, Z: 1.198},
			r3.Vec{X: 1.280, Y: 1.200, Z: 5.076}, r3.Vec{X: 3.212, Y: 3.807, Z: 0.094}), 1, 0},
		"coarse round": {pin(4, 0, 3, 5, 0.3), 20, 0},
	} {
		s := sceneBy(t, c.s, box(30, 31, 30, 31, 30, 31), Screw(zAxis, c.pitch), Options{})
		n := 0
		for _, p := range s.moving[0].turned {
			if p >= 0 {
				n++
			}
		}
		if got := float64(n) / float64(len(s.moving[0].tris)); math.Abs(got-c.want) > 0.02 {
			t.Errorf("%s: %.3g of the triangles are carried, want %g", name, got, c.want)
		}
	}
}

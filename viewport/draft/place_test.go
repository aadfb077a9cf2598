package draft

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// placed returns the boxes of all callouts of a scene.
func placed(s Scene, v View, d Depths) *canvas {
	c := newCanvas(s, v, Tools{Measurer: plainMeasure{}, Depths: d})
	for _, m := range s.Marks {
		m.draw(c)
	}
	c.placeCallouts()
	return c
}

// A dozen balloons over a part in the middle of a large picture find places
// apart from one another, with leaders that do not cross.
func TestBalloonsKeepApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s Scene
		for i := range rapid.IntRange(2, 10).Draw(t, "n") {
			p := vecGen(2).Draw(t, "at")
			s.Marks = append(s.Marks, Balloon{At: p, Text: fmt.Sprint(i + 1)})
		}
		c := placed(s, front(1200, 1200), nil)
		for i, a := range c.taken {
			if a.x0 < 0 || a.y0 < 0 || a.x1 > 1200 || a.y1 > 1200 {
				t.Fatalf("balloon %d at %v is outside the picture", i, a)
			}
			for j := range i {
				// The boxes noted have a margin of two pixels.
				if a.grow(-2).overlap(c.taken[j].grow(-2)) > 0 {
					t.Fatalf("balloons %d and %d overlap: %v, %v", j, i, c.taken[j], a)
				}
			}
		}
	})
}

func TestLeadersDoNotCross(t *testing.T) {
	var s Scene
	for i := range 8 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 4)
		s.Marks = append(s.Marks, Balloon{At: r3.Vec{X: 2 * cos, Z: 2 * sin}, Text: fmt.Sprint(i + 1)})
	}
	c := placed(s, front(1000, 1000), nil)
	for i, a := range c.leaders {
		for j := range i {
			if a.crosses(c.leaders[j]) {
				t.Errorf("leaders %d and %d cross", j+1, i+1)
			}
		}
		// Balloons of a ring belong outside it.
		if math.Hypot(a.b.X-500, a.b.Y-500) < math.Hypot(a.a.X-500, a.a.Y-500) {
			t.Errorf("balloon %d stands inward of its point", i+1)
		}
	}
}

// blockDepths is a part that covers a square about the middle.
type blockDepths struct{ lo, hi int }

func (b blockDepths) Depth(x, y int) float64 {
	if x >= b.lo && x < b.hi && y >= b.lo && y < b.hi {
		return 0.5
	}
	return 1
}

// ISO 6433: balloons stand outside the outlines where they can.
func TestBalloonStandsOutsideThePart(t *testing.T) {
	part := blockDepths{420, 580}
	s := Scene{Marks: []Mark{Balloon{At: r3.Vec{X: 0.1, Z: 0.1}, Text: "1"}}}
	c := placed(s, front(1000, 1000), part)
	if over := c.covered(c.taken[0]); over > 0 {
		t.Errorf("%g of the balloon at %v covers the part", over, c.taken[0])
	}
}

func TestBalloonsAreEqual(t *testing.T) {
	c := newCanvas(Scene{}, front(500, 500), Tools{Measurer: plainMeasure{}})
	for _, text := range []string{"1", "12", "31"} {
		w, h := c.extent(callout{text: text, size: textSize, balloon: true})
		if w != 2*balloonRadius || h != 2*balloonRadius {
			t.Errorf("balloon %s is %g x %g, want %g round", text, w, h, 2*balloonRadius)
		}
	}
	if w, h := c.extent(callout{text: "100-7", size: textSize, balloon: true}); w <= h {
		t.Errorf("a long number got %g x %g, want room", w, h)
	}
}

func TestTextsKeepOffTheTitleBlock(t *testing.T) {
	s := Scene{Marks: []Mark{
		Label{At: r3.Vec{X: 4, Z: -4.4}, Text: "near the corner"},
		TitleBlock{Title: "arm", Rows: [][]string{{"a", "b"}, {"c", "d"}}},
	}}
	c := placed(s, front(1000, 1000), nil)
	if len(c.taken) != 2 || c.taken[0].overlap(c.taken[1]) > 0 {
		t.Errorf("placed at %v", c.taken)
	}
}

func TestWhatIsOutsideIsNotNamed(t *testing.T) {
	s := Scene{Marks: []Mark{Label{At: r3.Vec{X: 50}, Text: "gone"}, Balloon{At: r3.Vec{Z: 50}, Text: "1"}}}
	if c := placed(s, front(1000, 1000), nil); len(c.taken) != 0 {
		t.Errorf("%d callouts for points outside the picture", len(c.taken))
	}
}

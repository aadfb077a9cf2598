package find

import (
	"testing"
)

// Pairs hold every joint of a chain, its axis first among the pair's.
func TestPairsHoldTheJoints(t *testing.T) {
	parts, made := chain(5, 24)
	pairs, err := Pairs(t.Context(), parts, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range pairs {
		if p.A >= p.B || i > 0 && (p.A < pairs[i-1].A || p.A == pairs[i-1].A && p.B <= pairs[i-1].B) {
			t.Errorf("pair %d-%d is out of order", p.A, p.B)
		}
		if (len(p.Axes) == 0) != (p.Confidence == 0) || p.Gap < 0 {
			t.Errorf("pair %d-%d: %d axes, confidence %g, gap %g", p.A, p.B, len(p.Axes), p.Confidence, p.Gap)
		}
	}
	for _, h := range made {
		found := false
		for _, p := range pairs {
			if p.A == h.parent && p.B == h.child && len(p.Axes) > 0 {
				x := p.Axes[0]
				found = lineAngle(x.Axis, h.axis) < 1e-9 && fromLine(h.origin, x.Origin, x.Axis) < 1e-7 && p.Confidence > 0.5
			}
		}
		if !found {
			t.Errorf("no pair %d-%d with the joint's axis", h.parent, h.child)
		}
	}
	if _, err := Pairs(t.Context(), append(parts, parts...)[:0], Options{}); err != nil {
		t.Errorf("no parts: %v", err)
	}
}

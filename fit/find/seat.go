package find

import (
	"fmt"
	"math"
	"slices"
)

const (
	smallPart  = 0.2  // of the larger part's diagonal, halves smallness
	seatFall   = 0.02 // of the smaller part's diagonal, distance that halves a spot's being seated
	leastSeat  = 0.05 // share of the surface of a seated part that lies on the other
	mostNear   = 4    // near parts of a part that sits
	leastPlain = 0.8  // of a part that sits and has axes in common with others, such as a bolt through two plates
	leastBoth  = 0.1  // circles of both parts, of such an axis
	leastSmall = 0.3  // smallness of a part that sits
)

// seats gives every pair the hypothesis that the smaller part sits on the
// larger one and does not move: a bolt, a badge, a cover. It stays for pairs
// where that can be at all.
func (w *work) seats(links []link, shapes []shape, f *family) {
	touching := make([]int, len(w.parts))
	for _, l := range links {
		touching[l.a]++
		touching[l.b]++
	}
	kin := map[[2]int]int{} // parts of a kind that could sit on a part
	for i := range links {
		part, to, _ := w.seated(&links[i])
		kin[[2]int{f.first[part], to}]++
	}
	for i := range links {
		l := &links[i]
		part, to, z := w.seated(l)
		x := w.seatFeatures(l, z, shapes[part].area, kin[[2]int{f.first[part], to}])
		if x[fSmall] < leastSmall || x[fSeat] < leastSeat || touching[part] > mostNear {
			continue
		}
		x[fPlain] = w.plain(part)
		if (x[fPlain] < leastPlain || !l.shared()) && carries(links, i, part) {
			continue
		}
		l.axes = append(l.axes, hypothesis{feats: x, Axis: Axis{Kind: FixedKind, Evidence: Evidence{Gap: l.gap, Slips: math.NaN()}}})
	}
}

// carries reports whether a part shows an axis that another part than the one
// it would sit on shows too.
func carries(links []link, sits, part int) bool {
	for i := range links {
		if l := &links[i]; i != sits && (l.a == part || l.b == part) && l.shared() {
			return true
		}
	}
	return false
}

// shared reports whether both parts show an axis.
func (l *link) shared() bool {
	return slices.ContainsFunc(l.axes, func(h hypothesis) bool { return h.feats[fBoth] > leastBoth })
}

// seated says which part of a link would sit on which.
func (w *work) seated(l *link) (part, to int, z []spot) {
	if w.parts[l.a].diagonal < w.parts[l.b].diagonal {
		return l.a, l.b, l.za
	}
	return l.b, l.a, l.zb
}

func (w *work) seatFeatures(l *link, z []spot, area float64, kin int) features {
	var f features
	l.common(&f)
	f[fFixed] = 1
	x := l.size / max(w.parts[l.a].diagonal, w.parts[l.b].diagonal) / smallPart
	f[fSmall] = 1 / (1 + x*x)
	seat, deep := 0.0, 0.0
	for _, s := range z {
		if s.inside {
			deep += s.area
		}
		y := s.gap / (seatFall * l.size)
		if s.inside {
			y = 0
		}
		seat += s.area / (1 + y*y)
	}
	f[fSeat], f[fDeep] = min(1, seat/area), min(1, deep/area)
	f[fKin] = 1 - 1/float64(max(kin, 1))
	return f
}

// plain is how much of a part's surface is turned about its heaviest line,
// 0 for half of it or less.
func (w *work) plain(part int) float64 {
	p := &w.parts[part]
	if len(p.lines) == 0 {
		return 0
	}
	x := p.turnedAbout(p.lines[0].origin, p.lines[0].axis)
	return max(0, 2*x-1)
}

func (w *work) seatWords(part, to int) string {
	return fmt.Sprintf("%s is small, lies on %s and has no other joint", w.parts[part].name, w.parts[to].name)
}

package sweep

import "math"

// joinRounds joins the loops that go round the hinge, two and two that go
// opposite ways, by strips.
func (w *stitcher) joinRounds() {
	done := make([]bool, len(w.rounds))
	for i := range w.rounds {
		if done[i] {
			continue
		}
		a := &w.rounds[i]
		done[i] = true
		k := w.partner(i, done)
		if k < 0 {
			w.fan(a.ids, a.angle)
			w.doubt(a)
			continue
		}
		done[k] = true
		b := &w.rounds[k]
		if a.turns < 0 {
			a, b = b, a
		}
		w.belt(a, b)
	}
}

// partner returns the loop to join loop i to: one that turns the other way,
// if it can be next to it at a column that is all inside, else the first.
func (w *stitcher) partner(i int, done []bool) int {
	best := -1
	for k := i + 1; k < len(w.rounds); k++ {
		if done[k] || w.rounds[k].turns != -w.rounds[i].turns {
			continue
		}
		if best < 0 || w.aroundMaterial(w.rounds[i].sides, w.rounds[k].sides) {
			best = k
		}
	}
	return best
}

// aroundMaterial tells whether two sides meet at a column that is all inside.
func (w *stitcher) aroundMaterial(a, b int) bool {
	for k := range 4 {
		before := 1 << ((k + 3) % 4)
		after := 1 << k
		if a|b == before|after && a != b && w.corner[k].plain() && w.corner[k].inside {
			return true
		}
	}
	return false
}

// belt lays a strip between loop a, which turns once forward, and loop b,
// which turns once back. Where both touch one side of the prism, a ring of new
// vertices goes between, so that no edge lies in that side.
func (w *stitcher) belt(a, b *loop) {
	b.backward()
	if a.turns != 1 || b.turns != 1 || a.sides&b.sides != 0 {
		w.doubt(a)
		w.doubt(b)
		a = w.between(a, b)
	}
	n, m := len(a.ids), len(b.ids)
	j0 := 0
	for j := range b.ids {
		if turnTo(a.angle[0], b.angle[j]) < turnTo(a.angle[0], b.angle[j0]) {
			j0 = j
		}
	}
	shift := nearest(b.angle[j0]-a.angle[0], 0) - (b.angle[j0] - a.angle[0])
	at := func(l *loop, k int) float64 { // past the end, one turn further
		return l.angle[k%len(l.ids)] + 2*math.Pi*float64(k/len(l.ids))
	}
	// Neither loop may go all round at one vertex of the other, lest the strip
	// meet itself there.
	firstA, firstB := -1, -1 // where the other stood at each loop's first step
	for i, j := 0, 0; i < n || j < m; {
		p, q := a.ids[i%n], b.ids[(j0+j)%m]
		step := j == m || (i < n && at(a, i+1) <= at(b, j0+j+1)+shift)
		switch {
		case i == n-1 && firstA == j && j < m:
			step = false
		case j == m-1 && firstB == i && i < n:
			step = true
		}
		if step {
			if firstA < 0 {
				firstA = j
			}
			w.triangle(p, a.ids[(i+1)%n], q)
			i++
		} else {
			if firstB < 0 {
				firstB = i
			}
			w.triangle(b.ids[(j0+j+1)%m], q, p)
			j++
		}
	}
	if len(a.spans) == 1 && len(b.spans) == 1 {
		a.spans[0].leadsTo(b.spans[0])
		b.spans[0].leadsTo(a.spans[0])
	}
}

// turnTo returns how far angle b is from a, either way round.
func turnTo(a, b float64) float64 { return math.Abs(math.Remainder(b-a, 2*math.Pi)) }

// between joins loop a to a ring of new vertices about half way to loop b and
// returns the ring.
func (w *stitcher) between(a, b *loop) *loop {
	ring := &loop{turns: a.turns}
	for k, id := range a.ids {
		p := w.vertex(id)
		q := p
		nearestTo := math.Inf(1)
		for j, other := range b.ids {
			if d := turnTo(a.angle[k], b.angle[j]); d < nearestTo {
				nearestTo, q = d, w.vertex(other)
			}
		}
		ring.ids = append(ring.ids, w.inward(p.r+q.r, a.angle[k], p.z+q.z, 2))
		ring.angle = append(ring.angle, a.angle[k])
	}
	n := len(a.ids)
	for k := range a.ids {
		l := (k + 1) % n
		w.triangle(a.ids[k], a.ids[l], ring.ids[l])
		w.triangle(a.ids[k], ring.ids[l], ring.ids[k])
	}
	return ring
}

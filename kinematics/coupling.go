package kinematics

import (
	"fmt"
	"slices"
)

// ValueRef names one value of a joint of a tree.
type ValueRef struct {
	Joint   int // index in the tree
	Freedom int // see Kind.Freedom
}

// Coupling makes one joint value follow another.
type Coupling struct {
	Driver, Follower ValueRef
	Law              Law
}

// CouplingError reports a coupling that no mechanism can have.
type CouplingError struct {
	Coupling int    // its number in the list
	Reason   string // what is wrong and what would be right
	Err      error  // the cause, or nil
}

func (e *CouplingError) Error() string {
	if e.Err != nil {
		return fmt.Sprintf("coupling %d: %s: %v", e.Coupling+1, e.Reason, e.Err)
	}
	return fmt.Sprintf("coupling %d: %s", e.Coupling+1, e.Reason)
}

// Unwrap returns the cause.
func (e *CouplingError) Unwrap() error { return e.Err }

// Couplings are the couplings of a tree, ready to evaluate. They are constant
// and may be shared by goroutines.
type Couplings struct {
	links []couple // drivers before their followers
	leads []int    // for each value: the element of links that it follows, or -1
	zero  []float64
	own   []Range // each value's own limit
}

// couple is a coupling by the numbers of its values.
type couple struct {
	driver, follower int
	number           int // in the caller's list
	fn               Function
}

// NewCouplings checks the couplings of a tree and puts them in order. It returns
// a *CouplingError for one that refers to a value that is not there, whose law
// has no meaning or whose follower follows already; and a *CycleError for values
// that follow one another in a ring.
func NewCouplings(t *Tree, list []Coupling) (*Couplings, error) {
	c := &Couplings{leads: make([]int, t.values), own: make([]Range, t.values)}
	for v := range c.leads {
		c.leads[v] = -1
		j, freedom := t.ValueOf(v)
		c.own[v] = t.joints[j].Limit(freedom)
	}
	links := make([]couple, len(list))
	for i, k := range list {
		var err error
		if links[i], err = newCouple(t, i, k); err != nil {
			return nil, err
		}
		if other := c.leads[links[i].follower]; other >= 0 {
			return nil, &CouplingError{Coupling: i, Reason: fmt.Sprintf(
				"%s follows by coupling %d already: a value follows one driver", t.valueText(links[i].follower), other+1)}
		}
		c.leads[links[i].follower] = i
	}
	if err := c.sort(t, links); err != nil {
		return nil, err
	}
	c.zero = make([]float64, t.values)
	c.Apply(c.zero)
	return c, nil
}

func newCouple(t *Tree, i int, k Coupling) (couple, error) {
	refuse := func(err error, format string, args ...any) error {
		return &CouplingError{Coupling: i, Reason: fmt.Sprintf(format, args...), Err: err}
	}
	var index [2]int
	for n, r := range []ValueRef{k.Driver, k.Follower} {
		if r.Joint < 0 || r.Joint >= len(t.joints) {
			return couple{}, refuse(nil, "there is no joint %d: the tree has joints 0 to %d", r.Joint, len(t.joints)-1)
		}
		first, count := t.ValueIndex(r.Joint)
		if r.Freedom < 0 || r.Freedom >= count {
			return couple{}, refuse(nil, "%s has %d values, no value %d", t.joints[r.Joint].label(r.Joint), count, r.Freedom)
		}
		index[n] = first + r.Freedom
	}
	fn, err := k.Law.Function()
	if err != nil {
		return couple{}, refuse(err, "its law is wrong")
	}
	return couple{driver: index[0], follower: index[1], number: i, fn: fn}, nil
}

// sort puts the links in order, drivers first, and numbers leads by that order.
func (c *Couplings) sort(t *Tree, links []couple) error {
	const waiting, walking, placed = 0, 1, 2
	state := make([]uint8, len(links))
	var stack []int
	for i := range links {
		stack = stack[:0]
		for k := i; k >= 0 && state[k] != placed; k = c.leads[links[k].driver] {
			if state[k] == walking {
				return c.ring(t, links, k)
			}
			state[k] = walking
			stack = append(stack, k)
		}
		for _, k := range slices.Backward(stack) {
			state[k] = placed
			c.links = append(c.links, links[k])
		}
	}
	for i, k := range c.links {
		c.leads[k.follower] = i
	}
	return nil
}

// ring names the values of the ring that link k is part of, drivers first.
func (c *Couplings) ring(t *Tree, links []couple, k int) error {
	names := []string{t.valueText(links[k].follower)}
	for i := c.leads[links[k].driver]; i != k; i = c.leads[links[i].driver] {
		names = append(names, t.valueText(links[i].follower))
	}
	names = append(names, names[0])
	slices.Reverse(names)
	return &CycleError{What: "couplings", Joints: names}
}

// valueText names a joint value in an error.
func (t *Tree) valueText(v int) string {
	j, freedom := t.ValueOf(v)
	joint := &t.joints[j]
	if joint.Kind.Freedoms() == 1 {
		return joint.label(j)
	}
	return fmt.Sprintf("%s (%s)", joint.label(j), joint.Kind.Freedom(freedom))
}

// Apply sets every follower to what its driver makes of it, in place. values
// has one value for each of the tree's.
func (c *Couplings) Apply(values []float64) {
	for _, k := range c.links {
		values[k.follower] = k.fn.Value(values[k.driver])
	}
}

// Zero returns the joint values with every free value at 0. Laws with an offset
// let a follower stand off the pose as modelled there.
func (c *Couplings) Zero() []float64 { return slices.Clone(c.zero) }

// Leader returns the number of the coupling, in the list that was given, that
// sets the value, or -1 where the value is free.
func (c *Couplings) Leader(value int) int {
	if i := c.leads[value]; i >= 0 {
		return c.links[i].number
	}
	return -1
}

// Free returns the values that follow nothing, in rising order.
func (c *Couplings) Free() []int {
	var free []int
	for v, k := range c.leads {
		if k < 0 {
			free = append(free, v)
		}
	}
	return free
}

// Rates fills dst with the velocity of every value per unit of the value
// driver, when all other free values stand still: 1 for the driver itself, the
// product of slopes for what follows it. The twists of a Jacobian, each scaled
// by its rate, add up to the velocity that the driver makes.
func (c *Couplings) Rates(dst, values []float64, driver int) {
	clear(dst)
	dst[driver] = 1
	for _, k := range c.links {
		if k.follower != driver && dst[k.driver] != 0 {
			dst[k.follower] = dst[k.driver] * k.fn.Slope(values[k.driver])
		}
	}
}

// CoupledLimit says what a coupling makes of limits. Cones are left out.
type CoupledLimit struct {
	Coupling int   // number in the list that was given
	Reach    Range // what the follower takes over all that its driver may do by itself
	Own      Range // the follower's own limit
	// Driver is what of its own range the driver may use, round the pose of Zero,
	// for this follower and all that follow it to keep within their own limits. OK
	// is false where one is outside in that pose already.
	Driver Range
	OK     bool
}

// Exceeds reports whether the follower would leave its own limit if the driver
// used all of its range, by more than rounding.
func (l CoupledLimit) Exceeds() bool {
	slack := 1e-12 * (1 + max(abs(l.Own.Lower), abs(l.Own.Upper)))
	return l.Reach.Lower < l.Own.Lower-slack || l.Reach.Upper > l.Own.Upper+slack
}

// abs is the size of a finite end, 0 for an infinite one.
func abs(v float64) float64 {
	if !finite(v) {
		return 0
	}
	return max(v, -v)
}

// Limits returns what each coupling makes of its two limits, in the order of
// the list that was given.
func (c *Couplings) Limits() []CoupledLimit {
	reach, allowed := slices.Clone(c.own), slices.Clone(c.own)
	ok := make([]bool, len(c.own))
	for v := range ok {
		ok[v] = c.own[v].Contains(c.zero[v])
	}
	out := make([]CoupledLimit, len(c.links))
	for _, k := range c.links {
		reach[k.follower] = k.fn.Over(reach[k.driver])
		out[k.number] = CoupledLimit{Coupling: k.number, Reach: reach[k.follower], Own: c.own[k.follower]}
	}
	for _, k := range slices.Backward(c.links) { // followers first
		r, fits := k.fn.Within(allowed[k.follower], c.zero[k.driver])
		fits = fits && ok[k.follower]
		l := &out[k.number]
		l.Driver, l.OK = c.own[k.driver].Intersect(r)
		l.OK = l.OK && fits
		allowed[k.driver], _ = allowed[k.driver].Intersect(r)
		ok[k.driver] = ok[k.driver] && l.OK
	}
	return out
}

// Allowed returns the range of each value, round the pose of Zero, on which it
// and everything that follows it keep within their own limits; where the pose of
// Zero is outside already the range is the value there alone.
func (c *Couplings) Allowed() []Range {
	allowed := slices.Clone(c.own)
	for v, r := range allowed {
		if !r.Contains(c.zero[v]) {
			allowed[v] = Range{Lower: c.zero[v], Upper: c.zero[v]}
		}
	}
	for _, k := range slices.Backward(c.links) {
		r, ok := k.fn.Within(allowed[k.follower], c.zero[k.driver])
		if ok {
			r, ok = r.Intersect(allowed[k.driver])
		}
		if !ok {
			r = Range{Lower: c.zero[k.driver], Upper: c.zero[k.driver]}
		}
		allowed[k.driver] = r
	}
	return allowed
}

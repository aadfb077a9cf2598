package kinematics

// Kind names how a joint lets its child part move.
type Kind string

// The joint kinds with their values in order, and the motion that the values
// make relative to the joint frame. At value 0 every joint stands as modelled;
// values are right-handed about and positive along the named direction of the
// frame, which belongs to the parent unless it says otherwise. Turns, swings
// and twists are radians, slides model units.
//
// The first six are the lower pairs; a universal joint is two hinges in one.
// Source: J. Denavit, R. S. Hartenberg, A kinematic notation for lower-pair
// mechanisms, J. Applied Mechanics 22 (1955) 215-221.
const (
	// Fixed lets nothing move.
	Fixed Kind = "fixed"
	// Revolute turns about Hinge.
	Revolute Kind = "revolute"
	// Prismatic slides along Hinge.
	Prismatic Kind = "prismatic"
	// Helical turns about Hinge and travels Pitch per radian along it.
	Helical Kind = "screw"
	// Cylindric turns about Hinge and slides along it, independently.
	Cylindric Kind = "cylindric"
	// Universal turns about Hinge, which the parent's fork carries, and about Side
	// as the first turn has left it, which the child's fork carries. The two axes
	// cross at the origin at right angles whatever the values. Both shafts lie
	// along Reach as modelled; see Cardan for the way it passes turning on.
	// Singular where the second turn is a quarter: the first then spins the child
	// about its own shaft.
	Universal Kind = "universal"
	// Spherical turns about the origin: first twists about Reach, then swings by
	// the rotation vector s1 Hinge + s2 Side, so that the reach leans by the
	// length of (s1, s2) whatever the twist. Regular everywhere but where the
	// swing is half a turn, which every azimuth reaches (see Cone and SwingOf).
	Spherical Kind = "spherical"
	// Planar turns about Hinge through the origin, then slides along Reach and
	// along Side: the child keeps to planes across the hinge.
	Planar Kind = "planar"
)

// MaxFreedoms is the most values that a kind takes.
const MaxFreedoms = 3

// Kinds returns the joint kinds in a fixed order.
func Kinds() []Kind {
	return []Kind{Fixed, Revolute, Prismatic, Helical, Cylindric, Universal, Spherical, Planar}
}

// Freedom is one of the ways that a joint kind lets its child move: what one
// joint value means.
type Freedom struct {
	Name  string // "turn", "slide", "swing" or "twist"
	About Role   // the direction that it turns about or slides along
	Turns bool   // the value is an angle in radians; else a length in model units
}

// String returns the freedom in words: "turn about hinge", "slide along reach".
func (f Freedom) String() string {
	if f.Turns {
		return f.Name + " about " + string(f.About)
	}
	return f.Name + " along " + string(f.About)
}

// freedoms returns the kind's freedoms in the order of its values; known is
// false for an unknown kind.
func (k Kind) freedoms() (list [MaxFreedoms]Freedom, n int, known bool) {
	turn := func(name string, about Role) Freedom { return Freedom{Name: name, About: about, Turns: true} }
	slide := func(along Role) Freedom { return Freedom{Name: "slide", About: along} }
	switch k {
	case Fixed:
		return list, 0, true
	case Revolute, Helical:
		list[0] = turn("turn", RoleHinge)
		return list, 1, true
	case Prismatic:
		list[0] = slide(RoleHinge)
		return list, 1, true
	case Cylindric:
		list[0], list[1] = turn("turn", RoleHinge), slide(RoleHinge)
		return list, 2, true
	case Universal:
		list[0], list[1] = turn("turn", RoleHinge), turn("turn", RoleSide)
		return list, 2, true
	case Spherical:
		list[0], list[1], list[2] = turn("swing", RoleHinge), turn("swing", RoleSide), turn("twist", RoleReach)
		return list, 3, true
	case Planar:
		list[0], list[1], list[2] = slide(RoleReach), slide(RoleSide), turn("turn", RoleHinge)
		return list, 3, true
	}
	return list, 0, false
}

// Freedoms returns how many joint values the kind takes, or -1 for an unknown
// kind.
func (k Kind) Freedoms() int {
	switch k {
	case Fixed:
		return 0
	case Revolute, Prismatic, Helical:
		return 1
	case Cylindric, Universal:
		return 2
	case Spherical, Planar:
		return 3
	}
	return -1
}

// Freedom returns the meaning of the kind's value i, or the zero Freedom where
// it takes no such value.
func (k Kind) Freedom(i int) Freedom {
	list, n, _ := k.freedoms()
	if i < 0 || i >= n {
		return Freedom{}
	}
	return list[i]
}

// FreedomList returns the meaning of each of the kind's values, in order.
func (k Kind) FreedomList() []Freedom {
	list, n, _ := k.freedoms()
	return append([]Freedom(nil), list[:n]...)
}

// Turns reports whether the kind's first value is an angle.
func (k Kind) Turns() bool { return k.Freedom(0).Turns }

// Leans reports whether the kind lets the child's reach leave its direction by
// two values, so that a Cone can limit it.
func (k Kind) Leans() bool { return k == Universal || k == Spherical }

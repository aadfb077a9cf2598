package kinematics

import (
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// Letter is one of the three coordinate letters with its sign.
type Letter string

// The signed letters.
const (
	PlusX  Letter = "X"
	MinusX Letter = "-X"
	PlusY  Letter = "Y"
	MinusY Letter = "-Y"
	PlusZ  Letter = "Z"
	MinusZ Letter = "-Z"
)

// signedLetters lists the letters so that index/2 is the coordinate and an odd
// index is negative.
func signedLetters() [6]Letter { return [6]Letter{PlusX, MinusX, PlusY, MinusY, PlusZ, MinusZ} }

// index returns the place in signedLetters, or -1.
func (l Letter) index() int {
	letters := signedLetters()
	return slices.Index(letters[:], l)
}

// Vec returns the unit vector of the letter; false for an unknown one.
func (l Letter) Vec() (r3.Vec, bool) {
	i := l.index()
	if i < 0 {
		return r3.Vec{}, false
	}
	c := [3]float64{}
	c[i/2] = float64(1 - 2*(i%2))
	return r3.Vec{X: c[0], Y: c[1], Z: c[2]}, true
}

// ParseLetter reads a letter such as "Z", "+Z", "-z".
func ParseLetter(text string) (Letter, error) {
	l := Letter(strings.TrimPrefix(strings.ToUpper(strings.TrimSpace(text)), "+"))
	if l.index() < 0 {
		return "", &LettersError{Text: text, Reason: "a letter is X, Y or Z, with - in front for the opposite direction"}
	}
	return l, nil
}

// Letters says which coordinate letters an export gives to hinge and reach.
// Side takes the third letter with the sign that keeps the exported frame
// right-handed, so there are 24 of them.
type Letters struct {
	Hinge Letter `json:"hinge"`
	Reach Letter `json:"reach"`
}

// LettersError reports letters that name no right-handed frame.
type LettersError struct {
	Text   string
	Reason string // what is wrong and what would be right
}

func (e *LettersError) Error() string { return fmt.Sprintf("letters %q: %s", e.Text, e.Reason) }

// AllLetters returns the 24 right-handed assignments in a fixed order: by
// hinge, then by reach, each in the order X, -X, Y, -Y, Z, -Z.
func AllLetters() []Letters {
	all := make([]Letters, 0, 24)
	for _, h := range signedLetters() {
		for _, r := range signedLetters() {
			if l := (Letters{Hinge: h, Reach: r}); l.Check() == nil {
				all = append(all, l)
			}
		}
	}
	return all
}

// DenavitHartenberg returns the letters of the convention of J. Denavit and R.
// S. Hartenberg, J. Appl. Mech. 22 (1955) 215-221: Z along the joint axis, X
// along the common normal. DHFrames gives the frames that go with it.
func DenavitHartenberg() Letters { return Letters{Hinge: PlusZ, Reach: PlusX} }

// Check returns a *LettersError where a letter is unknown or both name the same
// coordinate.
func (l Letters) Check() error {
	h, r := l.Hinge.index(), l.Reach.index()
	switch {
	case h < 0 || r < 0:
		return &LettersError{Text: l.text(), Reason: "a letter is X, Y or Z, with - in front for the opposite direction"}
	case h/2 == r/2:
		return &LettersError{Text: l.text(), Reason: "hinge and reach need different letters"}
	}
	return nil
}

// Side returns the letter of side = hinge x reach, or "" where Check fails.
func (l Letters) Side() Letter {
	if l.Check() != nil {
		return ""
	}
	h, _ := l.Hinge.Vec()
	r, _ := l.Reach.Vec()
	return letterOf(r3.Cross(h, r))
}

// letterOf returns the letter of a signed unit vector along a coordinate.
func letterOf(v r3.Vec) Letter {
	for _, l := range signedLetters() {
		if u, _ := l.Vec(); u == v {
			return l
		}
	}
	return ""
}

func (l Letters) text() string { return fmt.Sprintf("hinge=%s reach=%s", l.Hinge, l.Reach) }

// String returns the letters in the form "hinge=Z reach=X".
func (l Letters) String() string { return l.text() }

// ParseLetters reads letters such as "hinge=Z reach=X". Any two of hinge, reach
// and side determine the third; all three must be right-handed. It returns a
// *LettersError.
func ParseLetters(text string) (Letters, error) {
	refuse := func(format string, args ...any) (Letters, error) {
		return Letters{}, &LettersError{Text: text, Reason: fmt.Sprintf(format, args...)}
	}
	roles := [3]Role{RoleHinge, RoleReach, RoleSide}
	var vec [3]r3.Vec
	var given [3]bool
	for _, field := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ',' || r == '\t' }) {
		name, value, _ := strings.Cut(field, "=")
		i := slices.Index(roles[:], Role(strings.ToLower(name)))
		if i < 0 {
			return refuse("%q is not hinge=, reach= or side=", field)
		}
		letter, err := ParseLetter(value)
		if err != nil {
			return refuse("%q: a letter is X, Y or Z, with - in front for the opposite direction", field)
		}
		if given[i] {
			return refuse("%s is given twice", name)
		}
		given[i] = true
		vec[i], _ = letter.Vec()
	}
	var missing []int
	for i, g := range given {
		if !g {
			missing = append(missing, i)
		}
	}
	switch len(missing) {
	case 0:
	case 1: // each is the cross product of the other two in cyclic order
		i := missing[0]
		vec[i] = r3.Cross(vec[(i+1)%3], vec[(i+2)%3])
	default:
		return refuse("give two of hinge=, reach= and side=")
	}
	l := Letters{Hinge: letterOf(vec[0]), Reach: letterOf(vec[1])}
	if err := l.Check(); err != nil || l.Side() != letterOf(vec[2]) {
		return refuse("hinge, reach and side need three different letters with side = hinge x reach (right-handed)")
	}
	return l, nil
}

// Pose returns the pose of the frame in model axes as an export with these
// letters writes it: the columns X, Y, Z are the directions that carry those
// letters. It returns a *LettersError where Check fails.
func (l Letters) Pose(f Frame) (Transform, error) {
	if err := l.Check(); err != nil {
		return Transform{}, err
	}
	var col [3]r3.Vec
	for _, role := range []struct {
		letter Letter
		dir    r3.Vec
	}{{l.Hinge, f.Hinge}, {l.Reach, f.Reach}, {l.Side(), f.Side()}} {
		i := role.letter.index()
		col[i/2] = role.dir
		if i%2 == 1 {
			col[i/2] = opposite(role.dir)
		}
	}
	return Transform{X: col[0], Y: col[1], Z: col[2], T: f.Origin}, nil
}

// FrameOf returns the frame whose Pose with these letters is x.
func (l Letters) FrameOf(x Transform) (Frame, error) {
	if err := l.Check(); err != nil {
		return Frame{}, err
	}
	h, _ := l.Hinge.Vec()
	r, _ := l.Reach.Vec()
	return Frame{Origin: x.T, Hinge: x.Turn(h), Reach: x.Turn(r)}, nil
}

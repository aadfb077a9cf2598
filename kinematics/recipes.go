package kinematics

import "fmt"

// Recipe is one named joint's frame recipe with what it may look at. The Frame
// of its surroundings is not used: BuildAll supplies it.
type Recipe struct {
	Joint  string
	Spec   FrameSpec
	Around Surroundings
}

// BuildAll builds the frames of a set of joints, each after the joints that its
// recipe refers to, and returns them in the order given. It returns a
// *CycleError where recipes refer to one another in a ring, a *JointError for a
// name used twice and for whatever Build refuses.
func BuildAll(recipes []Recipe) ([]Frame, error) {
	b := builder{
		recipes: recipes, frames: make([]Frame, len(recipes)),
		state: make([]buildState, len(recipes)), index: make(map[string]int, len(recipes)),
	}
	for i, r := range recipes {
		if _, twice := b.index[r.Joint]; twice {
			return nil, &JointError{Joint: fmt.Sprintf("joint %q", r.Joint), Reason: "two joints have this name: rename one"}
		}
		b.index[r.Joint] = i
	}
	for i := range recipes {
		if err := b.build(i); err != nil {
			return nil, err
		}
	}
	return b.frames, nil
}

type buildState uint8

const (
	waiting buildState = iota
	underWay
	done
)

type builder struct {
	recipes []Recipe
	frames  []Frame
	state   []buildState
	index   map[string]int
	path    []string // joints under way, outermost first
}

// build builds frame i after the frames it refers to.
func (b *builder) build(i int) error {
	name := b.recipes[i].Joint
	switch b.state[i] {
	case done:
		return nil
	case underWay:
		return b.ring(name)
	}
	b.state[i] = underWay
	b.path = append(b.path, name)
	for _, other := range b.recipes[i].Spec.Joints() {
		if j, ok := b.index[other]; ok {
			if err := b.build(j); err != nil {
				return err
			}
		}
	}
	around := b.recipes[i].Around
	around.Frame = func(joint string) (Frame, bool) {
		j, ok := b.index[joint]
		if !ok {
			return Frame{}, false
		}
		return b.frames[j], true
	}
	f, err := Build(b.recipes[i].Spec, around)
	if err != nil {
		return &JointError{Joint: fmt.Sprintf("joint %q", name), Reason: "its frame cannot be built", Err: err}
	}
	b.frames[i], b.state[i] = f, done
	b.path = b.path[:len(b.path)-1]
	return nil
}

// ring returns the error for a path that has come back to name.
func (b *builder) ring(name string) error {
	for i, n := range b.path {
		if n == name {
			return &CycleError{What: "frame references", Joints: append(b.path[i:len(b.path):len(b.path)], name)}
		}
	}
	return nil
}

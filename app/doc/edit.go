package doc

import (
	"fmt"
	"slices"
	"strconv"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// New returns the document for a model that was just read: one part for each
// of the model's, no joints.
func New(ref ModelRef, m *mesh.Model) Document {
	d := Document{Model: ref}
	for _, p := range m.Parts {
		d.Parts = append(d.Parts, Part{Name: p.Name, Pieces: []Piece{{Source: p.Name, Shell: Whole}}})
	}
	return d
}

// with returns a copy of list in which element i is v.
func with[T any](list []T, i int, v T) []T {
	list = slices.Clone(list)
	list[i] = v
	return list
}

// mustPart returns the part's index or the error that it is not there.
func (d Document) mustPart(name string) (int, error) {
	if i := d.PartIndex(name); i >= 0 {
		return i, nil
	}
	return -1, fmt.Errorf("there is no part %q", name)
}

func (d Document) mustJoint(name string) (int, error) {
	if i := d.JointIndex(name); i >= 0 {
		return i, nil
	}
	return -1, fmt.Errorf("there is no joint %q", name)
}

// RenamePart gives a part another name, in its joints too.
func (d Document) RenamePart(from, to string) (Document, error) {
	i, err := d.mustPart(from)
	if err != nil {
		return d, err
	}
	if from == to {
		return d, nil
	}
	if err := CheckName("part", to); err != nil {
		return d, err
	}
	if d.PartIndex(to) >= 0 {
		return d, fmt.Errorf("there is a part %q already", to)
	}
	p := d.Parts[i]
	p.Name = to
	d.Parts = with(d.Parts, i, p)
	d.Joints = renameParts(d.Joints, func(name string) string {
		if name == from {
			return to
		}
		return name
	})
	return d, nil
}

// renameParts returns the joints with their parts' names mapped.
func renameParts(joints []Joint, to func(string) string) []Joint {
	joints = slices.Clone(joints)
	for i := range joints {
		joints[i].Parent, joints[i].Child = to(joints[i].Parent), to(joints[i].Child)
	}
	return joints
}

// HidePart hides a part or shows it again.
func (d Document) HidePart(name string, hidden bool) (Document, error) {
	i, err := d.mustPart(name)
	if err != nil {
		return d, err
	}
	p := d.Parts[i]
	p.Hidden = hidden
	d.Parts = with(d.Parts, i, p)
	return d, nil
}

// JoinParts makes one part of several: it stands where the first of them stood
// and takes that one's name and joints. It fails where a joint is between two
// of them, or where two of them hang on joints.
func (d Document) JoinParts(names ...string) (Document, error) {
	if len(names) < 2 {
		return d, fmt.Errorf("joining takes two parts or more")
	}
	first, err := d.mustPart(names[0])
	if err != nil {
		return d, err
	}
	joined := d.Parts[first]
	joined.Pieces = slices.Clone(joined.Pieces)
	in := map[string]bool{names[0]: true}
	for _, name := range names[1:] {
		i, err := d.mustPart(name)
		if err != nil {
			return d, err
		}
		if in[name] {
			return d, fmt.Errorf("part %q is named twice", name)
		}
		in[name] = true
		joined.Pieces = append(joined.Pieces, d.Parts[i].Pieces...)
	}
	carrier := ""
	for _, j := range d.Joints {
		if in[j.Parent] && in[j.Child] {
			return d, fmt.Errorf("joint %q moves %q against %q: remove it before joining them", j.Name, j.Child, j.Parent)
		}
		if j.Closes {
			continue
		}
		if in[j.Child] && carrier != "" {
			return d, fmt.Errorf("the parts hang on two joints, %q and %q: remove one before joining them", carrier, j.Name)
		}
		if in[j.Child] {
			carrier = j.Name
		}
	}
	parts := make([]Part, 0, len(d.Parts))
	for i, p := range d.Parts {
		switch {
		case i == first:
			parts = append(parts, joined)
		case !in[p.Name]:
			parts = append(parts, p)
		}
	}
	d.Parts = parts
	d.Joints = renameParts(d.Joints, func(name string) string {
		if in[name] {
			return joined.Name
		}
		return name
	})
	if err := d.Validate(); err != nil {
		return d, err
	}
	return d, nil
}

// splitPart replaces a part by parts that hold the given pieces, the first of
// which keeps its name, its place and its joints.
func (d Document) splitPart(name string, pieces [][]Piece) (Document, error) {
	i, err := d.mustPart(name)
	if err != nil {
		return d, err
	}
	taken := map[string]bool{}
	for _, p := range d.Parts {
		taken[p.Name] = true
	}
	parts := slices.Clone(d.Parts[:i])
	next := 2
	for k, p := range pieces {
		part := d.Parts[i]
		part.Pieces = p
		if k > 0 {
			part.Name, next = freeName(name, next, taken)
			taken[part.Name] = true
		}
		parts = append(parts, part)
	}
	d.Parts = append(parts, d.Parts[i+1:]...)
	return d, nil
}

// freeName returns the first of "name N", "name N+1", ... that is not taken and
// the number behind the one used.
func freeName(name string, from int, taken map[string]bool) (string, int) {
	for n := from; ; n++ {
		if s := name + " " + strconv.Itoa(n); !taken[s] {
			return s, n + 1
		}
	}
}

// AddJoint adds a joint at the end.
func (d Document) AddJoint(j Joint) (Document, error) {
	e := d
	e.Joints = append(slices.Clone(d.Joints), j)
	if err := e.Validate(); err != nil {
		return d, err
	}
	return e, nil
}

// ReplaceJoint puts j in the place of the joint that was named name. Another
// name in j is carried into poses, couplings and frame recipes; values in poses
// and couplings that another kind does not have, or means otherwise, go.
func (d Document) ReplaceJoint(name string, j Joint) (Document, error) {
	i, err := d.mustJoint(name)
	if err != nil {
		return d, err
	}
	e := d
	e.Joints = with(d.Joints, i, j)
	if j.Name != name {
		e.Joints, e.Poses = renameJoint(e.Joints, e.Poses, name, j.Name)
		e.Couplings = renamedCouplings(e.Couplings, name, j.Name)
		e.Drivers = renamedDrivers(e.Drivers, name, j.Name)
	}
	if was := d.Joints[i]; was.Kind != j.Kind {
		e.Poses = fittingPoses(e.Poses, was, j)
		e.Couplings = fitting(e.Couplings, was, j)
		e.Drivers = driversFitting(e.Drivers, j)
	}
	if err := e.Validate(); err != nil {
		return d, err
	}
	return e, nil
}

// EditJoint is ReplaceJoint with what f makes of the joint.
func (d Document) EditJoint(name string, f func(Joint) Joint) (Document, error) {
	i, err := d.mustJoint(name)
	if err != nil {
		return d, err
	}
	return d.ReplaceJoint(name, f(d.Joints[i]))
}

// fittingPoses returns the poses where a joint has become of another kind:
// without the values of it that are not there any more or mean another thing.
func fittingPoses(poses []Pose, was, now Joint) []Pose {
	poses = slices.Clone(poses)
	for i, p := range poses {
		k := slices.IndexFunc(p.Values, func(v JointValue) bool { return v.Joint == now.Name })
		if k < 0 {
			continue
		}
		v := p.Values[k]
		kept := make([]float64, min(len(v.Values), max(now.Kind.Freedoms(), 0)))
		for f := range kept {
			if SameFreedom(was.Kind, now.Kind, f) {
				kept[f] = v.Values[f]
			}
		}
		poses[i].Values = with(p.Values, k, JointValue{Joint: v.Joint, Values: kept})
		if len(kept) == 0 {
			poses[i].Values = slices.Delete(poses[i].Values, k, k+1)
		}
	}
	return poses
}

func renameJoint(joints []Joint, poses []Pose, from, to string) ([]Joint, []Pose) {
	joints = slices.Clone(joints)
	for i := range joints {
		for _, r := range []*kinematics.Reference{&joints[i].Spec.Reach.At, &joints[i].Spec.Roll.At} {
			if r.Kind == kinematics.FromJoint && r.Joint == from {
				r.Joint = to
			}
		}
	}
	poses = slices.Clone(poses)
	for i := range poses {
		poses[i].Values = slices.Clone(poses[i].Values)
		for k := range poses[i].Values {
			if poses[i].Values[k].Joint == from {
				poses[i].Values[k].Joint = to
			}
		}
	}
	return joints, poses
}

// RemoveJoint takes a joint away, out of poses, couplings and drivers too. A
// joint that closed a loop over it carries its part from then on. It fails while
// another joint's frame refers to it.
func (d Document) RemoveJoint(name string) (Document, error) {
	i, err := d.mustJoint(name)
	if err != nil {
		return d, err
	}
	for _, j := range d.Joints {
		if j.Name != name && slices.Contains(j.Spec.Joints(), name) {
			return d, fmt.Errorf("the frame of joint %q refers to joint %q: choose another reference there first", j.Name, name)
		}
	}
	gone := d.Joints[i]
	d.Joints = slices.Delete(slices.Clone(d.Joints), i, i+1)
	d.Poses = slices.Clone(d.Poses)
	for k, p := range d.Poses {
		d.Poses[k].Values = slices.DeleteFunc(slices.Clone(p.Values), func(v JointValue) bool { return v.Joint == name })
	}
	d.Couplings = withoutJoint(d.Couplings, name)
	d.Drivers = slices.DeleteFunc(slices.Clone(d.Drivers), func(v ValueRef) bool { return v.Joint == name })
	return d.carriedAnew(gone), nil
}

// SetPose adds a pose, or replaces the one of the same name. Its values are
// put in the order of the joints.
func (d Document) SetPose(p Pose) (Document, error) {
	p.Values = slices.Clone(p.Values)
	slices.SortStableFunc(p.Values, func(a, b JointValue) int { return d.JointIndex(a.Joint) - d.JointIndex(b.Joint) })
	e := d
	if i := d.PoseIndex(p.Name); i >= 0 {
		e.Poses = with(d.Poses, i, p)
	} else {
		e.Poses = append(slices.Clone(d.Poses), p)
	}
	if err := e.Validate(); err != nil {
		return d, err
	}
	return e, nil
}

// RemovePose takes a pose away.
func (d Document) RemovePose(name string) (Document, error) {
	i := d.PoseIndex(name)
	if i < 0 {
		return d, fmt.Errorf("there is no pose %q", name)
	}
	d.Poses = slices.Delete(slices.Clone(d.Poses), i, i+1)
	return d, nil
}

// FreeJointName returns base, or base with the first number that makes it
// unique.
func (d Document) FreeJointName(base string) string {
	if d.JointIndex(base) < 0 {
		return base
	}
	taken := map[string]bool{}
	for _, j := range d.Joints {
		taken[j.Name] = true
	}
	name, _ := freeName(base, 2, taken)
	return name
}

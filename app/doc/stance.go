package doc

import (
	"context"
	"fmt"
	"math"

	"pintle/app/job"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// Stance is how a joint of one freedom moves with the other joints where they
// stand. It tells the clearance at single values quickly.
type Stance struct {
	// Motion has no runout, which no other joint changes. It is nil where all
	// others stand as modelled: then it is that of Session.Motion.
	Motion *Motion
	// AsModelled is the clearance at value 0.
	AsModelled contact.Proximity
	scene      *contact.Scene
}

// Stance prepares a joint's motion with the other joints at their values, absent
// ones as modelled. The joint itself counts from where the model has it, and so
// does all that follows it. A joint that follows another, or is driven in a
// loop, is taken with all others as modelled. It fails as Motion does.
func (s *Session) Stance(ctx context.Context, joint string, values map[string][]float64, o MotionOptions, progress job.Progress) (*Stance, error) {
	i, err := s.Doc.mustJoint(joint)
	if err != nil {
		return nil, err
	}
	in, err := s.MotionInput(s.Doc.Joints[i])
	if err == nil {
		in.Poses, err = s.poses(s.Doc.Joints[i], values)
	}
	if err != nil {
		return nil, err
	}
	in.Tolerance, in.Samples, in.Error = o.Tolerance, o.Samples, o.Error
	in.Housings, in.Watched = nil, []int{}
	m, scene, err := newMotion(ctx, &in, progress)
	if err != nil {
		return nil, fmt.Errorf("the motion of joint %q as the others stand: %w", joint, err)
	}
	out := &Stance{scene: scene}
	// The first answer takes long: a frame must not wait for it.
	if out.AsModelled, err = scene.ClearanceAt(ctx, 0, contact.Proximity{}); err != nil || in.Poses == nil {
		return out, err
	}
	if err := m.find(ctx, scene, in, progress); err != nil {
		return nil, fmt.Errorf("the motion of joint %q as the others stand: %w", joint, err)
	}
	out.Motion = m
	return out, nil
}

// ClearanceAt returns where the moving parts come nearest to the others at a
// value of the joint; hint is what it returned for a value nearby, if there was
// one. Bodies are places in the motion's Moving and Still, points lie in the
// joint's parent as modelled.
func (x *Stance) ClearanceAt(ctx context.Context, value float64, hint contact.Proximity) (contact.Proximity, error) {
	return x.scene.ClearanceAt(ctx, value, hint)
}

// poses returns where the parts stand with a joint at 0 and the others at their
// values, seen from the joint's parent; nil where all stand as modelled, or where
// the joint cannot stand at 0 by itself.
func (s *Session) poses(j Joint, values map[string][]float64) ([]kinematics.Transform, error) {
	t, err := s.Tree()
	if err != nil {
		return nil, err
	}
	others := make(map[string][]float64, len(values))
	for name, v := range values {
		if name != j.Name {
			others[name] = v
		}
	}
	all, err := s.Values(t, others)
	if err != nil {
		return nil, err
	}
	first, n := t.ValueIndex(t.Find(j.Name))
	moved := false
	for i, v := range all {
		if i >= first && i < first+n && v != 0 {
			return nil, nil
		}
		moved = moved || v != 0
	}
	if !moved {
		return nil, nil
	}
	out := t.FK(all)[:len(s.Parts)]
	if p := s.Doc.PartIndex(j.Parent); p >= 0 {
		back := out[p].Inverse()
		for i := range out {
			out[i] = settled(back.Mul(out[i]))
		}
	}
	return out, nil
}

// settled returns the identity for what differs from it by rounding only.
func settled(x kinematics.Transform) kinematics.Transform {
	const rounding = 1e-13
	id, rows := kinematics.Identity().Rows(), x.Rows()
	for i := range rows {
		for k := range rows[i] {
			if math.Abs(rows[i][k]-id[i][k]) > rounding {
				return x
			}
		}
	}
	return kinematics.Identity()
}

package handover

import "pintle/app/doc"

// newPose returns a pose with the values that stand in it and, where joints
// close loops, with those of every joint of the loops as solved: who reads the
// spec need not solve them.
func newPose(s *doc.Session, p doc.Pose) (SpecPose, error) {
	out := SpecPose{Name: p.Name, Values: []SpecValue{}}
	add := func(v doc.JointValue) {
		out.Values = append(out.Values, newValue(s.Doc.Joints[s.Doc.JointIndex(v.Joint)].Kind, v))
	}
	if !s.Doc.HasLoops() {
		for _, v := range p.Values {
			add(v)
		}
		return out, nil
	}
	all, err := s.Linkages()
	if err != nil {
		return SpecPose{}, err
	}
	values, err := s.PoseValues(all.Tree, p)
	if err != nil {
		return SpecPose{}, err
	}
	said := map[string]doc.JointValue{}
	for _, v := range p.Values {
		said[v.Joint] = v
	}
	for i, j := range s.Doc.Joints { // in the order that poses keep
		k := all.LinkageOf(j.Name)
		if k >= 0 && all.List[k].Solver != nil && j.Kind.Freedoms() > 0 {
			first, n := all.Tree.ValueIndex(i)
			add(doc.JointValue{Joint: j.Name, Values: values[first : first+n]})
		} else if v, ok := said[j.Name]; ok {
			add(v)
		}
	}
	return out, nil
}

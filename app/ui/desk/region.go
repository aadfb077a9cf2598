package desk

import (
	"context"

	"pintle/app/doc"
	"pintle/app/job"
)

// Region is where a ball or universal joint can lean.
type Region struct {
	Joint string
	*doc.Region
	inputs string
}

// Region returns the selected joint's region, nil while it is not known.
func (d *Desk) Region() *Region { return d.proofs.region }

// FindRegion finds where the selected ball or universal joint can lean.
func (d *Desk) FindRegion() {
	j, _, ok := d.Joint()
	if !ok || !j.Kind.Leans() {
		return
	}
	s := d.session
	run(d, "Leaning "+j.Name, func(ctx context.Context, progress job.Progress) (*Region, error) {
		r, err := s.Region(ctx, j, progress)
		if err != nil {
			return nil, err
		}
		return &Region{Joint: j.Name, Region: r, inputs: inputsOf(s, j)}, nil
	}, func(r *Region) {
		// The user may have gone on meanwhile.
		if j, _, ok := d.Joint(); ok && r.inputs == inputsOf(d.session, j) {
			d.proofs.region = r
		}
	})
}

// TakeRegion gives the selected joint limits that keep a margin, radians, clear
// of the contacts of its region. It returns whether there are any.
func (d *Desk) TakeRegion(margin float64) bool {
	r := d.proofs.region
	j, _, ok := d.Joint()
	if !ok || r == nil {
		return false
	}
	limited, ok := r.Suggest(j, margin)
	if !ok {
		return false
	}
	return d.edit("limits of", func(j doc.Joint) doc.Joint {
		j.Limits, j.Cone = limited.Limits, limited.Cone
		return j
	})
}

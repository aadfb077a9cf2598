package desk

import (
	"context"
	"path/filepath"

	"pintle/app/handover"
	"pintle/app/job"
)

// WriteSpec proves every joint's motion and writes the joint spec to path; done
// is called when it is written.
func (d *Desk) WriteSpec(path string, done func()) {
	if d.session == nil {
		return
	}
	s := d.session
	run(d, "Writing "+filepath.Base(path), func(ctx context.Context, p job.Progress) (handover.Spec, error) {
		return handover.WriteSpec(ctx, path, s, p)
	}, func(handover.Spec) { done() })
}

// WriteEnvelope writes the envelope's mesh to path in the format of its
// ending; done is called when it is written.
func (d *Desk) WriteEnvelope(path string, done func()) {
	e := d.proofs.envelope
	if e == nil || d.session == nil {
		return
	}
	f := handover.MeshFile{Name: e.Joint + " envelope", Mesh: e.Mesh, Unit: d.session.Model.Unit, Up: d.session.Model.Up}
	run(d, "Writing "+filepath.Base(path), func(context.Context, job.Progress) (struct{}, error) {
		return struct{}{}, handover.WriteMesh(path, f)
	}, func(struct{}) { done() })
}

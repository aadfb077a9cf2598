package desk

import (
	"slices"
	"testing"

	"pintle/app/doc"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/viewport"
)

// A pick holds numbers of a mesh's vertices, edges and triangles; in another
// mesh they mean nothing, or lie beyond its end.
func TestPicksOnPartsThatChangeAreForgotten(t *testing.T) {
	b := newBench(t)
	b.openDemo("tern-arm")
	b.SetStep(StepJoints)
	b.SetMode(viewport.PickEdge)
	part := b.Session().Doc.PartIndex("finger 1")
	edges := len(b.Session().Parts[part].Mesh.Topology().EdgeVerts)
	hit := viewport.Hit{Mode: viewport.PickEdge, Part: part, Triangle: 0, Vertex: -1, Edge: edges - 1}

	b.SelectPart(b.Session().Doc.PartIndex("pedestal"))
	b.RenamePart("foot")
	b.Click(hit)
	b.Undo()
	if len(b.Picks()) != 1 {
		t.Errorf("renaming another part left %d picks of 1", len(b.Picks()))
	}
	b.SelectPart(part)
	b.SplitPart()
	if len(b.Picks()) != 0 {
		t.Errorf("%d picks on a part that was split", len(b.Picks()))
	}

	last := len(b.Session().Parts) - 1
	m := b.Session().Parts[last].Mesh
	hit.Part, hit.Edge = last, len(m.Topology().EdgeVerts)-1
	b.SetStep(StepJoints)
	b.Hover(hit)
	b.Click(hit)
	b.Undo() // the split: the part is gone
	if len(b.Picks()) != 0 || b.hover.OK() {
		t.Error("elements of a part that is gone are still picked or pointed at")
	}
	b.Scene()
	b.MakeHinge()
	if len(b.Session().Doc.Joints) != 0 {
		t.Error("a hinge was made of nothing")
	}
}

func TestUnitAndUpAxisCanBeUndone(t *testing.T) {
	b := newBench(t)
	b.openDemo("tern-arm")
	meshes := slices.Clone(b.Session().Parts)
	b.SetUnitAndUp(mesh.Inch, mesh.UpY)
	if m := b.Session().Model; m.Unit != mesh.Inch || m.Up != mesh.UpY {
		t.Errorf("the model is in %s with %s up", m.Unit, m.Up)
	}
	b.Undo()
	if m := b.Session().Model; m.Unit != mesh.Millimetre || m.Up != mesh.UpZ {
		t.Errorf("after undo the model is in %s with %s up", m.Unit, m.Up)
	}
	for i, p := range b.Session().Parts {
		if p.Mesh != meshes[i].Mesh {
			t.Errorf("part %q was made anew", p.Name)
		}
	}
	b.SetUnitAndUp("furlong", mesh.UpZ)
	if len(b.problems) != 1 || b.Session().Model.Unit != mesh.Millimetre {
		t.Errorf("a unit that is none: %v", b.problems)
	}
}

func TestEnvelopeOfAJointThatChangedMeanwhileIsNotShown(t *testing.T) {
	b := newBench(t)
	b.elbow()
	j, _, _ := b.Joint()
	b.until("the motion is proven", func() bool { return b.Proof(j.Name).Motion != nil })
	b.MakeEnvelope()
	task := b.Task()
	if task == nil {
		t.Fatal("nothing is being swept")
	}
	b.FlipHinge()
	b.until("the sweep ends", func() bool { return b.Task() != task })
	if b.Envelope() != nil {
		t.Error("the envelope of the hinge as it was is shown for the hinge as it is")
	}
}

func TestProofFollowsThePartsNames(t *testing.T) {
	b := newBench(t)
	b.elbow()
	j, _, _ := b.Joint()
	b.until("the motion is proven", func() bool { return b.Proof(j.Name).Motion != nil })
	b.SelectPart(b.Session().Doc.PartIndex("forearm"))
	b.RenamePart("lower link")
	b.until("the motion is proven again", func() bool { return b.Proof(j.Name).Motion != nil })
	for _, r := range b.Proof(j.Name).Motion.Runout {
		if b.Session().Doc.PartIndex(r.Part) < 0 {
			t.Errorf("runout of part %q, which has another name now", r.Part)
		}
	}
}

// Findings are kept between looks, but never beyond what they are about.
func TestFindingsFollowTheDocument(t *testing.T) {
	b := newBench(t)
	b.elbow()
	j, _, _ := b.Joint()
	has := func(k doc.FindingKind) bool {
		return slices.ContainsFunc(b.Proof(j.Name).Findings, func(f doc.Finding) bool { return f.Kind == k })
	}
	b.until("the motion is proven", func() bool { return b.Proof(j.Name).Motion != nil })
	if !has(doc.NotAccepted) || has(doc.RangeBlocked) {
		t.Errorf("findings of a new hinge: %v", b.Proof(j.Name).Findings)
	}
	b.Accept(true)
	if has(doc.NotAccepted) {
		t.Error("an accepted joint is found not accepted")
	}
	b.SetLimits(&kinematics.Range{Lower: -3, Upper: 3})
	if !has(doc.RangeBlocked) || b.State(b.Session().Doc.Joints[0]) != Stopped {
		t.Error("limits beyond the contacts are not found")
	}
	b.Undo()
	if has(doc.RangeBlocked) {
		t.Error("what was undone is still found")
	}
}

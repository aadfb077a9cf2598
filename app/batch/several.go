package batch

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// The JSON of a joint of several freedoms: each by itself, and where a ball or
// universal joint can lean.
type (
	severalAnswer struct {
		File     string          `json:"file"`
		Joint    string          `json:"joint"`
		Kind     kinematics.Kind `json:"kind"`
		Unit     mesh.Unit       `json:"unit"`
		Moving   []string        `json:"moving"`
		Still    []string        `json:"still"`
		Freedoms []freedomAnswer `json:"freedoms"`
		Region   *regionAnswer   `json:"region"`
		Findings []doc.Finding   `json:"findings"`
	}
	freedomAnswer struct {
		Freedom  string         `json:"freedom"`
		Free     rangeAnswer    `json:"free_range"`
		Contacts contactsAnswer `json:"contacts"`
	}
	regionAnswer struct {
		SolidAngle wire.Num    `json:"solid_angle"` // steradians
		Narrowest  rimAnswer   `json:"narrowest"`
		Rim        []rimAnswer `json:"rim"` // in order round the reach
	}
	rimAnswer struct {
		Azimuth wire.Deg   `json:"azimuth"`
		Lean    wire.Deg   `json:"lean"`
		Parts   *[2]string `json:"parts"` // null: nothing stops it
	}
)

// several tells how far each freedom of a joint goes by itself, and where a ball
// or universal joint can lean.
func (c *motionCommand) several(r *run, h *hinge) error {
	if c.Range != "" {
		return usageError{fmt.Errorf("--range %q: a %s joint has several values; leave it out", c.Range, h.joint.Kind)}
	}
	s, j := h.session, *h.joint
	alone, err := s.Alone(r.ctx, j, nil)
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(c.File), err)
	}
	a := severalAnswer{
		File: c.File, Joint: j.Name, Kind: j.Kind, Unit: s.Model.Unit, Freedoms: []freedomAnswer{},
		Moving: partNames(s, alone.Moving), Still: partNames(s, alone.Still),
		Findings: append(append([]doc.Finding{}, s.Findings(j, nil)...), s.AloneFindings(j, alone)...),
	}
	for i, f := range j.Kind.FreedomList() {
		a.Freedoms = append(a.Freedoms, freedomAnswer{
			Freedom: f.String(), Free: newRangeAnswer(f, alone.Range(i)),
			Contacts: contactsAnswer{Lower: a.contact(f, alone.Free[i].Lower), Upper: a.contact(f, alone.Free[i].Upper)},
		})
	}
	if j.Kind.Leans() {
		region, err := s.Region(r.ctx, j, nil)
		if err != nil {
			return fmt.Errorf("%s: %w", filepath.Base(c.File), err)
		}
		a.Region = a.region(region)
		a.Findings = append(a.Findings, s.RegionFindings(j, region)...)
	}
	if doc.Worst(a.Findings) == doc.Stop {
		r.out.Code = ExitStop
	}
	if c.JSON {
		return r.printJSON(a)
	}
	return r.print(a.text())
}

func partNames(s *doc.Session, list []int) []string {
	out := make([]string, len(list))
	for i, p := range list {
		out[i] = s.Parts[p].Name
	}
	return out
}

func (a *severalAnswer) contact(f kinematics.Freedom, e *contact.Event) *contactAnswer {
	if e == nil {
		return nil
	}
	return &contactAnswer{
		valueAt: newValueAt(f, e.Value), Point: wire.Vec(e.Point), Normal: wire.Vec(e.Normal), AtRest: e.AtRest,
		Parts: a.meet(e), Faces: [2]int{e.MovingTri, e.StillTri},
	}
}

func (a *severalAnswer) meet(e *contact.Event) [2]string {
	return [2]string{a.Moving[e.Moving], a.Still[e.Still]}
}

func (a *severalAnswer) region(r *doc.Region) *regionAnswer {
	ray := func(p doc.RegionRay) rimAnswer {
		out := rimAnswer{Azimuth: wire.Deg(p.Azimuth), Lean: wire.Deg(p.Lean)}
		if p.Event != nil {
			parts := a.meet(p.Event)
			out.Parts = &parts
		}
		return out
	}
	out := &regionAnswer{SolidAngle: wire.Num(r.SolidAngle()), Narrowest: ray(r.Narrowest()), Rim: []rimAnswer{}}
	for _, p := range r.Rim() {
		out.Rim = append(out.Rim, ray(p))
	}
	return out
}

func (a severalAnswer) text() string {
	var p pairs
	p.add("moving", "%s", strings.Join(a.Moving, ", "))
	p.add("still", "%s", strings.Join(a.Still, ", "))
	for _, f := range a.Freedoms {
		text := f.Free.Lower.orFree(a.Unit) + " to " + f.Free.Upper.orFree(a.Unit) + ", by itself"
		for _, e := range []*contactAnswer{f.Contacts.Lower, f.Contacts.Upper} {
			if e != nil {
				text += fmt.Sprintf("; %s meets %s at %s", e.Parts[0], e.Parts[1], e.at.text(a.Unit))
			}
		}
		p.add(f.Freedom, "%s", text)
	}
	if r := a.Region; r != nil {
		share := 100 * float64(r.SolidAngle) / (4 * math.Pi)
		p.add("points into", "%s sr, %s %% of all", figure(float64(r.SolidAngle)), figure(share))
		text := fmt.Sprintf("%s to azimuth %s", angle(float64(r.Narrowest.Lean)), angle(float64(r.Narrowest.Azimuth)))
		if m := r.Narrowest.Parts; m != nil {
			text += fmt.Sprintf("; %s meets %s", m[0], m[1])
		}
		p.add("leans least", "%s", text)
	}
	return p.String() + printFindings(a.Findings)
}

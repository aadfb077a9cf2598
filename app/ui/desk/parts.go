package desk

import "pintle/app/doc"

// selectedPart returns the selected part's name.
func (d *Desk) selectedPart() (string, bool) {
	if d.session == nil || d.part < 0 || d.part >= len(d.session.Parts) {
		return "", false
	}
	return d.session.Parts[d.part].Name, true
}

// RenamePart gives the selected part another name.
func (d *Desk) RenamePart(name string) {
	old, ok := d.selectedPart()
	if !ok || name == "" || name == old {
		return
	}
	d.do("rename part "+old, func(s *doc.Session) (doc.Document, error) { return s.Doc.RenamePart(old, name) })
}

// HidePart hides or shows a part.
func (d *Desk) HidePart(name string, hidden bool) {
	label := "show part " + name
	if hidden {
		label = "hide part " + name
	}
	d.do(label, func(s *doc.Session) (doc.Document, error) { return s.Doc.HidePart(name, hidden) })
}

// SplitPart splits the selected part into its shells.
func (d *Desk) SplitPart() {
	if name, ok := d.selectedPart(); ok {
		d.do("split part "+name, func(s *doc.Session) (doc.Document, error) { return s.SplitPart(name) })
	}
}

// JoinPart joins another part to the selected one.
func (d *Desk) JoinPart(other string) {
	if name, ok := d.selectedPart(); ok && other != name {
		d.do("join part "+other+" to "+name, func(s *doc.Session) (doc.Document, error) {
			return s.Doc.JoinParts(name, other)
		})
		if d.session != nil {
			d.SelectPart(d.session.Doc.PartIndex(name))
		}
	}
}

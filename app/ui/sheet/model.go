package sheet

import (
	"pintle/app/doc"
	"pintle/app/ui/figures"
	"pintle/app/ui/paper"
	"pintle/app/ui/style"
	"pintle/assets"
	"pintle/fit/mesh"
)

// welcome stands while nothing is open.
func (b *builder) welcome() {
	b.add(paper.Title("Open a model"),
		paper.Para("glTF, GLB, OBJ, STL or PLY; or drop a file on the window.", style.Faded),
		paper.Gap(4),
		paper.NewButton("Open a model or document", paper.Primary, b.sheet.cb.OpenFile))
	b.section("DEMOS")
	for _, d := range assets.Demos() {
		b.add(paper.NewButton(d.Name, paper.Outlined, func() { b.sheet.cb.OpenDemo(d.Name) }),
			paper.Para(d.Title, style.Faded))
	}
}

// model shows the model and, where one is selected, a part of it.
func (b *builder) model() {
	s := b.desk.Session()
	b.add(paper.Title(b.desk.Title()))
	b.section("MODEL")
	triangles, vertices := 0, 0
	for _, p := range s.Parts {
		triangles += len(p.Mesh.Triangles())
		vertices += len(p.Mesh.Vertices())
	}
	b.row("parts", figures.Count(len(s.Parts)))
	b.row("triangles", figures.Count(triangles))
	b.row("vertices", figures.Count(vertices))
	box := s.Model.Bounds()
	b.row("size", figures.Fixed(box.Max.X-box.Min.X, 2)+" × "+figures.Fixed(box.Max.Y-box.Min.Y, 2)+" × "+figures.Fixed(box.Max.Z-box.Min.Z, 2))
	b.labelled("one unit is", choice([]string{"mm", "cm", "m", "in"}, string(s.Model.Unit), func(v string) {
		b.desk.SetUnitAndUp(mesh.Unit(v), s.Model.Up)
	}))
	b.labelled("up is", choice([]string{"Y", "Z"}, string(s.Model.Up), func(v string) {
		b.desk.SetUnitAndUp(s.Model.Unit, mesh.Up(v))
	}))
	b.part(s)
	b.found("WHEN IT WAS READ", s.Opening)
	b.found("WHEN JOINTS WERE SOUGHT", s.Sought)
}

// found lists findings about the model.
func (b *builder) found(title string, list []doc.Finding) {
	if len(list) > 0 {
		b.section(title)
	}
	for _, f := range list {
		b.add(paper.Note(f.Text, toneOf(f.Severity)))
	}
}

// part shows the selected part.
func (b *builder) part(s *doc.Session) {
	i := b.desk.Part()
	if i < 0 {
		b.section("PART")
		b.add(paper.Para("Click a part in the drawing or at the left to rename, hide, split or join it. When the parts are right, find the joints.", style.Faded))
		return
	}
	p := s.Parts[i]
	b.section("PART")
	b.labelled("name", entry(p.Name, b.desk.RenamePart))
	b.row("triangles", figures.Count(len(p.Mesh.Triangles())))
	shells, err := s.Shells(p.Name)
	if err == nil {
		b.row("shells", figures.Count(shells))
	}
	hidden := s.Doc.Parts[i].Hidden
	word := "Hide"
	if hidden {
		word = "Show"
	}
	split := paper.NewButton("Split into shells", paper.Outlined, b.desk.SplitPart)
	split.SetEnabled(shells > 1)
	b.buttons(paper.NewButton(word, paper.Outlined, func() { b.desk.HidePart(p.Name, !hidden) }), split)
	var others []string
	for k, o := range s.Parts {
		if k != i {
			others = append(others, o.Name)
		}
	}
	if len(others) > 0 {
		join := choice(others, "", b.desk.JoinPart)
		join.PlaceHolder = "choose a part"
		b.labelled("join with", join)
	}
}

// toneOf gives a severity its ink.
func toneOf(s doc.Severity) style.Tone {
	switch s {
	case doc.Stop:
		return style.Stop
	case doc.Check:
		return style.Check
	}
	return style.Faded
}

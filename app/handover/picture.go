package handover

import (
	"fmt"
	"path/filepath"
	"strconv"

	"pintle/app/doc"
	"pintle/app/drawing"
	"pintle/viewport/draft"
)

// PictureOptions say what a picture shows. The zero value is the whole
// mechanism as modelled.
type PictureOptions struct {
	Pose   []doc.JointValue // radians or model units; joints not named stand at 0
	Joint  string           // drawn with its frame, its range and the ends of it; "": none
	View   draft.Straight   // counted from draft.Front
	Aspect float64          // width over height; 0: 1
}

// Picture returns a document as a scene and the camera that shows all of it,
// drawn as the window draws it. It fails for joints that the document does not
// have.
func Picture(s *doc.Session, o PictureOptions) (draft.Scene, draft.Camera, error) {
	d := drawing.Options{Values: map[string][]float64{}, Joint: o.Joint, Part: -1, Title: titleBlock(s, o)}
	for _, v := range o.Pose {
		if s.Doc.JointIndex(v.Joint) < 0 {
			return draft.Scene{}, draft.Camera{}, fmt.Errorf("there is no joint %q", v.Joint)
		}
		d.Values[v.Joint] = v.Values
	}
	if o.Joint != "" {
		i := s.Doc.JointIndex(o.Joint)
		if i < 0 {
			return draft.Scene{}, draft.Camera{}, fmt.Errorf("there is no joint %q", o.Joint)
		}
		d.Part = s.Doc.PartIndex(s.Doc.Joints[i].Child)
	}
	scene, err := drawing.Scene(s, d)
	if err != nil {
		return draft.Scene{}, draft.Camera{}, err
	}
	aspect := o.Aspect
	if !(aspect > 0) {
		aspect = 1
	}
	camera := draft.NewCamera(scene.Bounds(), s.Model.Up, aspect).Straight(o.View)
	return scene, camera.Fit(scene.Corners(), aspect, draft.DefaultMargin), nil
}

func titleBlock(s *doc.Session, o PictureOptions) draft.TitleBlock {
	triangles := 0
	for _, part := range s.Parts {
		triangles += len(part.Mesh.Triangles())
	}
	pose := "as modelled"
	if len(o.Pose) > 0 {
		pose = "posed"
	}
	return draft.TitleBlock{
		Title: filepath.Base(s.Doc.Model.Path), Note: strconv.Itoa(triangles) + " triangles",
		Rows: [][]string{
			{"unit " + string(s.Model.Unit), "up " + string(s.Model.Up)},
			{"view " + o.View.String(), "pose " + pose},
		},
	}
}

package batch

import (
	"errors"
	"fmt"
	"image/png"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"pintle/app/doc"
	"pintle/app/handover"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

type drawCommand struct {
	Document string   `arg:"" help:"A document or a model."`
	Output   string   `short:"o" required:"" help:"The picture to write, .png." placeholder:"FILE"`
	Size     string   `help:"Pixels." default:"1440x900" placeholder:"WxH"`
	Pose     []string `help:"Turn a joint to an angle in degrees (a slide: model units), or to a value for each of its freedoms; may stand several times, in turn over --named." sep:"none" placeholder:"JOINT=DEG,..."`
	Named    string   `help:"Start from this pose of the document." placeholder:"POSE"`
	Joint    string   `help:"Show this joint with its frame and range." placeholder:"NAME"`
	View     string   `help:"${enum}." enum:"front,right,back,left,top,bottom,axonometric" default:"axonometric" placeholder:"VIEW"`
	JSON     bool     `name:"json" help:"Print JSON."`
	modelFlags
}

// drawAnswer is the command's JSON.
type drawAnswer struct {
	File   string `json:"file"`
	Output string `json:"output"`
	Width  int    `json:"width"`
	Height int    `json:"height"`
}

// maxPicture bounds a picture's pixels before memory is taken.
const maxPicture = 64 << 20

// Run draws the picture.
func (c *drawCommand) Run(r *run) error {
	w, h, err := parseSize(c.Size)
	if err != nil {
		return err
	}
	if !strings.EqualFold(filepath.Ext(c.Output), ".png") {
		return usageError{fmt.Errorf("%s: pictures are written as .png", c.Output)}
	}
	s, err := r.open(c.Document, c.modelFlags)
	if err != nil {
		return err
	}
	o := handover.PictureOptions{Joint: c.Joint, Aspect: float64(w) / float64(h), View: straight(c.View)}
	if o.Pose, err = c.pose(s.Doc); err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(c.Document), err)
	}
	scene, camera, err := handover.Picture(s, o)
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(c.Document), err)
	}
	if r.deps.Renderer == nil {
		return errors.New("this program was built without pictures")
	}
	renderer, err := r.deps.Renderer()
	if err != nil {
		return fmt.Errorf("drawing %s: %w", filepath.Base(c.Document), err)
	}
	defer renderer.Close()
	picture, err := renderer.Render(r.ctx, scene, camera, w, h)
	if err != nil {
		return err
	}
	err = doc.WriteAtomic(c.Output, func(out io.Writer) error { return png.Encode(out, picture) })
	if err != nil {
		return err
	}
	if c.JSON {
		return r.printJSON(drawAnswer{File: c.Document, Output: c.Output, Width: w, Height: h})
	}
	return r.print(fmt.Sprintf("%s: %d x %d pixels\n", c.Output, w, h))
}

func parseSize(text string) (w, h int, err error) {
	a, b, found := strings.Cut(strings.ToLower(text), "x")
	w, errW := strconv.Atoi(a)
	h, errH := strconv.Atoi(b)
	if !found || errW != nil || errH != nil || w <= 0 || h <= 0 {
		return 0, 0, usageError{fmt.Errorf("--size %q: give width and height in pixels, such as 1440x900", text)}
	}
	if w > maxPicture/h {
		return 0, 0, usageError{fmt.Errorf("--size %q: that is more than %d million pixels", text, maxPicture>>20)}
	}
	return w, h, nil
}

func straight(name string) draft.Straight {
	for v := draft.Front; v < draft.Axonometric; v++ {
		if v.String() == name {
			return v
		}
	}
	return draft.Axonometric
}

// pose returns the named pose with the single values over it.
func (c *drawCommand) pose(d doc.Document) ([]doc.JointValue, error) {
	var values []doc.JointValue
	if c.Named != "" {
		i := d.PoseIndex(c.Named)
		if i < 0 {
			var names []string
			for _, p := range d.Poses {
				names = append(names, p.Name)
			}
			return nil, fmt.Errorf("there is no pose %q%s", c.Named, suggestion(c.Named, names))
		}
		values = append(values, d.Poses[i].Values...)
	}
	for _, item := range c.Pose {
		v, err := parseJointValue(d, item)
		if err != nil {
			return nil, err
		}
		replaced := false
		for i := range values {
			if values[i].Joint == v.Joint {
				values[i], replaced = v, true
			}
		}
		if !replaced {
			values = append(values, v)
		}
	}
	return values, nil
}

func parseJointValue(d doc.Document, item string) (doc.JointValue, error) {
	cut := strings.LastIndex(item, "=")
	if cut < 0 {
		return doc.JointValue{}, usageError{fmt.Errorf("--pose %q: give a joint and its value, such as elbow=30", item)}
	}
	name := strings.TrimSpace(item[:cut])
	i := d.JointIndex(name)
	if i < 0 {
		var names []string
		for _, j := range d.Joints {
			names = append(names, j.Name)
		}
		return doc.JointValue{}, fmt.Errorf("there is no joint %q%s", name, suggestion(name, names))
	}
	kind := d.Joints[i].Kind
	list := strings.Split(item[cut+1:], ",")
	if n := kind.Freedoms(); len(list) > n {
		return doc.JointValue{}, usageError{fmt.Errorf("--pose %q: %d values for a %s joint, which takes %d", item, len(list), kind, n)}
	}
	value := doc.JointValue{Joint: name, Values: make([]float64, len(list))}
	for k, text := range list {
		v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
		if err != nil || v-v != 0 {
			return doc.JointValue{}, usageError{fmt.Errorf("--pose %q: %q is not a number", item, text)}
		}
		if kind.Freedom(k).Turns {
			v = kinematics.Radians(v)
		}
		value.Values[k] = v
	}
	return value, nil
}

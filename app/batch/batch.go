// Package batch is Pintle's command line: what the window can do, without a
// display. Commands print aligned text for people and, with --json, one JSON
// object for machines: snake_case names, degrees, two spaces of indent, null
// where there is no number.
//
// Exit codes: 0 done, 1 done but with findings of severity stop, 2 bad input,
// wrong usage included. Errors are one sentence on the error stream.
package batch

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"

	"pintle/app/doc/wire"
	"pintle/kinematics/sweep"
	"pintle/viewport/draft"
)

// The exit codes.
const (
	ExitDone     = 0
	ExitStop     = 1 // done, with findings of severity stop
	ExitBadInput = 2
)

// Renderer makes pictures of scenes. The program's main hands one in, so that
// commands need no graphics library of their own.
type Renderer interface {
	Render(ctx context.Context, s draft.Scene, c draft.Camera, width, height int) (*image.RGBA, error)
	Close()
}

// Deps is what the commands are given.
type Deps struct {
	Version  string                   // printed by --version
	Renderer func() (Renderer, error) // opens the renderer when a command needs it; nil: there is none
}

// Streams are where the commands read and write.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
}

// Outcome is what the program does next.
type Outcome struct {
	Code   int    // the exit code, where no window opens
	Window bool   // open the window
	File   string // for the window to open; "": none
	Demo   string // demo mechanism for the window to open; "": none
}

// Main runs the command line args, the program's name left out. Without a
// command it asks for the window. It never panics on bad input and never ends
// the process.
func Main(ctx context.Context, args []string, std Streams, deps Deps) Outcome {
	r := &run{ctx: ctx, std: std, deps: deps}
	var cli commandLine
	code, exited, err := r.parse(&cli, args)
	switch {
	case err != nil:
		return r.fail(err)
	case exited:
		return Outcome{Code: code}
	}
	return r.out
}

// commandLine is what kong fills in.
type commandLine struct {
	Version kong.VersionFlag `help:"Print the version and exit."`

	Fit      fitCommand      `cmd:"" help:"Fit a shape to a part of a model, or to points in a text file."`
	Parts    partsCommand    `cmd:"" help:"List a model's parts."`
	Find     findCommand     `cmd:"" help:"Find a model's joints from its geometry."`
	Motion   motionCommand   `cmd:"" help:"Turn a hinge: free range, contacts, runout, clearance."`
	Envelope envelopeCommand `cmd:"" help:"Write the solid that parts pass through when a hinge turns."`
	Loops    loopsCommand    `cmd:"" help:"Tell how a document's closed loops move: freedoms, reach, dead points."`
	Handover handoverCommand `cmd:"" help:"Write a document's joints for another program."`
	Draw     drawCommand     `cmd:"" help:"Draw a picture of a document without a window."`
	Open     openCommand     `cmd:"" default:"withargs" help:"Open the window (without any command, too)."`
}

const description = `Pintle finds, fits and proves the joints of mechanical models.

Without a command it opens its window. Commands print text, or JSON with --json (degrees, model units). Exit codes: 0 done, 1 findings of severity stop, 2 bad input.`

// run is one call of Main.
type run struct {
	ctx  context.Context
	std  Streams
	deps Deps
	out  Outcome
}

// exit carries an exit that kong asks for (--help, --version) out of it.
type exit struct{ code int }

// parse reads args and runs the command they name.
func (r *run) parse(cli *commandLine, args []string) (code int, exited bool, err error) {
	defer func() {
		switch e := recover().(type) {
		case nil:
		case exit:
			code, exited = e.code, true
		default:
			panic(e)
		}
	}()
	k, err := kong.New(cli,
		kong.Name("pintle"), kong.Description(description),
		kong.Writers(r.std.Out, r.std.Err),
		kong.Exit(func(code int) { panic(exit{code}) }),
		kong.Vars{"version": r.deps.Version, "default_resolution": strconv.Itoa(sweep.DefaultResolution)},
		kong.WithHyphenPrefixedParameters(true), // --origin -1,2,3
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, Summary: true}),
	)
	if err != nil {
		return 0, false, fmt.Errorf("setting up the command line: %w", err)
	}
	c, err := k.Parse(args)
	if err != nil {
		return 0, false, usageError{err}
	}
	return 0, false, c.Run(r)
}

// usageError is a command line that makes no sense.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

// fail prints an error as one line.
func (r *run) fail(err error) Outcome {
	text := strings.Join(strings.Fields(err.Error()), " ")
	var usage usageError
	switch {
	case errors.Is(err, context.Canceled):
		text = "cancelled"
	case errors.As(err, &usage):
		text += " (see pintle --help)"
	}
	fmt.Fprintf(r.std.Err, "pintle: %s\n", text)
	return Outcome{Code: ExitBadInput}
}

// printJSON writes v to the output in the program's one style.
func (r *run) printJSON(v any) error {
	text, err := wire.Marshal(v)
	if err != nil {
		return fmt.Errorf("writing the answer as JSON: %w", err)
	}
	return r.print(string(text))
}

func (r *run) print(text string) error {
	if _, err := io.WriteString(r.std.Out, text); err != nil {
		return fmt.Errorf("writing the answer: %w", err)
	}
	return nil
}

// openCommand opens the window.
type openCommand struct {
	File string `arg:"" optional:"" help:"Model or document to open."`
	Demo string `help:"Open a demo mechanism: tern-arm, drawbridge or heron-leg."`
}

// Run asks for the window. A file that is not there is an error, since it is
// most likely a mistyped command.
func (c *openCommand) Run(r *run) error {
	if c.File != "" {
		if _, err := os.Stat(c.File); err != nil {
			hint := ""
			if near := nearest(c.File, []string{"fit", "parts", "find", "motion", "envelope", "handover", "draw", "open"}); near != "" {
				hint = fmt.Sprintf("; did you mean the command %s?", near)
			}
			return usageError{fmt.Errorf("%s is no command and there is no such file%s", c.File, hint)}
		}
	}
	r.out = Outcome{Window: true, File: c.File, Demo: c.Demo}
	return nil
}

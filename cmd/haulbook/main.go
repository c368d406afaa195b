// Command haulbook keeps a collector's book: photos in, plates read, numbers
// given, tags printed, tags scanned.
//
// This package only wires. It reads flags, opens the book and hands the
// packages to one another; what a word means or how a thing is stored is
// decided elsewhere. Each subcommand is one file with its flags and a Run
// method. Results go to standard output, talk to standard error; exit codes
// are 0 done, 1 error, 2 usage, 3 partly done.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	"time"
	_ "time/tzdata" // zones also where the system has none

	"github.com/alecthomas/kong"
)

// memoryLimit is when the collector starts to work harder. Decoded photos come
// and go by tens of megabytes, and without it the dead ones pile up unseen.
const memoryLimit = 700 << 20

func main() {
	debug.SetMemoryLimit(memoryLimit)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// The exit codes.
const (
	exitDone   = 0
	exitError  = 1
	exitUsage  = 2
	exitPartly = 3
)

// errPartly ends a command that did its work on some of what it was given and
// has already said what it could not do.
var errPartly = errors.New("partly done")

// usageError is a wrong combination of words on the command line.
type usageError struct{ problem, hint string }

func (e *usageError) Error() string { return e.problem }

// streams are what a command talks through; tests replace them.
type streams struct {
	ctx    context.Context
	in     io.Reader
	out    io.Writer
	talk   io.Writer
	now    func() time.Time
	serves func(address string) // told where the desk answers, once it does
}

func (s *streams) say(format string, args ...any) { fmt.Fprintf(s.talk, format+"\n", args...) }

type commands struct {
	Demo   demoCommand   `cmd:"" help:"Invent a haul, take it in and open the desk: the main job in one command."`
	Init   initCommand   `cmd:"" help:"Make a book, or choose the address that tags will carry."`
	Run    runCommand    `cmd:"" help:"Watch the inboxes and serve the desk."`
	Take   takeCommand   `cmd:"" help:"Take photos in once."`
	Groups groupsCommand `cmd:"" help:"List the groups waiting for a plate reading."`
	Plate  plateCommand  `cmd:"" help:"Enter what a group's plate says; prints the number."`
	Show   showCommand   `cmd:"" help:"Show an item by number, code or address."`
	Find   findCommand   `cmd:"" help:"Find items by words, serial, number or code."`
	Tags   tagsCommand   `cmd:"" help:"Write a sheet of tags as PDF, each code read back first."`
	Worker workerCommand `cmd:"" hidden:"" name:"picture-worker"`
}

// run is the whole program but for the process around it.
func run(ctx context.Context, args []string, in io.Reader, out, talk io.Writer) int {
	return runWith(&streams{ctx: ctx, in: in, out: out, talk: talk, now: time.Now}, args)
}

func runWith(s *streams, args []string) int {
	helped := false
	parser, err := kong.New(&commands{},
		kong.Name("haulbook"),
		kong.Description(description),
		kong.Writers(s.out, s.talk),
		kong.Exit(func(int) { helped = true }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
		kong.Help(helpWithExitCodes),
	)
	if err != nil {
		s.say("haulbook: %v", err)
		return exitError
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	parsed, err := parser.Parse(args)
	switch {
	case helped:
		return exitDone
	case err != nil:
		s.say("haulbook: %v", err)
		s.say("haulbook COMMAND --help shows how it is meant.")
		return exitUsage
	}
	return exitCode(s, parsed.Run(s))
}

func exitCode(s *streams, err error) int {
	var usage *usageError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errPartly):
		return exitPartly
	case errors.As(err, &usage):
		s.say("haulbook: %s", usage.problem)
		if usage.hint != "" {
			s.say("%s", usage.hint)
		}
		return exitUsage
	case errors.Is(err, context.Canceled):
		s.say("haulbook: stopped; run the same command again to finish.")
		return exitError
	}
	s.say("haulbook: %v", err)
	return exitError
}

const description = `Keeps the book of a collection of hardware: photos in, plates read, numbers given, tags printed and scanned.

A first session:
  haulbook init ~/book --address http://192.168.1.20:8417
  haulbook take --book ~/book /media/card
  haulbook run  --book ~/book
  haulbook tags --book ~/book --stock a4-3x8`

func helpWithExitCodes(options kong.HelpOptions, ctx *kong.Context) error {
	if err := kong.DefaultHelpPrinter(options, ctx); err != nil {
		return err
	}
	_, err := fmt.Fprintln(ctx.Stdout, "\nExit codes: 0 done, 1 error, 2 usage, 3 partly done.")
	return err
}

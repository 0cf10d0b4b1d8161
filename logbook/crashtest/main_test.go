package crashtest

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

var (
	crashKills = flag.Int("crash.kills", 20, "how many times TestNothingIsLostWhenKilled kills")
	crashSeed  = flag.Uint64("crash.seed", 1, "seed of what the child does and of when it is stopped")
	powerCuts  = flag.Int("power.cuts", 60, "how many disks a power cut leaves TestPowerCut looks at")
	faultAll   = flag.Bool("fault.all", false, "let every call of the child fail in every way, not only some")
)

const (
	envDeed = "CRASHTEST_DEED"
	envBook = "CRASHTEST_BOOK"
	envSeed = "CRASHTEST_SEED"
)

func TestMain(m *testing.M) {
	deed := os.Getenv(envDeed)
	if deed == "" {
		os.Exit(m.Run())
	}
	if err := enterTap(); err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	var seed uint64
	if _, err := fmt.Sscan(os.Getenv(envSeed), &seed); err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	w := &worker{path: os.Getenv(envBook), random: rand.New(rand.NewPCG(seed, 4)), seed: seed}
	if err := w.carryOut(deed); err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	os.Exit(0)
}

// childCommand is this test program, about to do a deed.
func childCommand(deed, book string, seed uint64) *exec.Cmd {
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), envDeed+"="+deed, envBook+"="+book, fmt.Sprintf("%s=%d", envSeed, seed))
	cmd.Stderr = os.Stderr
	return cmd
}

// noon is what every clock of these tests says.
var noon = time.Date(2026, 2, 3, 12, 0, 0, 0, time.FixedZone("", -4*3600))

func options(seed uint64) logbook.Options {
	return logbook.Options{Clock: func() time.Time { return noon }, Location: noon.Location(), Writer: [16]byte{'a', 'l', 'd', 'e', 'r'},
		Rand: rand.NewChaCha8(sha256.Sum256(binary.BigEndian.AppendUint64(nil, seed))), LockWait: 20 * time.Second}
}

// newBook makes a book with something in it.
func newBook(t testing.TB) *logbook.Book {
	t.Helper()
	b, err := logbook.Create(t.Context(), filepath.Join(t.TempDir(), "plant.book"), options(*crashSeed))
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := b.AddRounds(t.Context(), rounds("begin", 20)); err != nil {
		t.Fatal(err)
	}
	return b
}

// rounds makes some rounds with ids of their own, as an import does.
func rounds(note string, n int) []record.Round {
	list := make([]record.Round, n)
	for i := range list {
		list[i] = record.Round{Time: noon.AddDate(-1, 0, 0).Add(time.Duration(i) * time.Minute), Note: note,
			Values: map[quantity.Key]float64{"volts": 241, "hertz": 60}}
		list[i].ID = logbook.DeriveID(list[i])
	}
	return list
}

// contents are the ids and notes of the entries in a book, which was checked.
type contents struct {
	ids   map[string]bool
	notes map[string]bool
	draft string
}

func look(t testing.TB, path string) (contents, error) {
	t.Helper()
	c := contents{ids: map[string]bool{}, notes: map[string]bool{}}
	b, err := logbook.Open(path, options(1))
	if err != nil {
		return c, err
	}
	report, err := b.Check(t.Context(), nil)
	if err != nil {
		return c, err
	}
	if !report.Sound() {
		return c, fmt.Errorf("check finds %v, chain %v", report.Damaged, report.ChainOK)
	}
	err = b.Entries(t.Context(), func(e logbook.Entry) error {
		c.ids[e.ID] = true
		switch {
		case e.Round != nil:
			c.notes[e.Round.Note] = true
		case e.Event != nil:
			c.notes[e.Event.Note] = true
		case e.Done != nil:
			c.notes[e.Done.Note] = true
		case e.Amendment != nil:
			c.notes[strings.TrimPrefix(e.Amendment.Changes["note"], "corrected ")] = true
		}
		return nil
	})
	if err != nil {
		return c, err
	}
	d, _, err := b.Draft(t.Context(), form)
	c.draft = string(d.Data)
	return c, err
}

// worksOn shows that work goes on in a book.
func worksOn(t testing.TB, path string) error {
	t.Helper()
	b, err := logbook.Open(path, options(rand.Uint64()))
	if err == nil {
		_, err = b.AddRound(context.Background(), record.Round{Time: noon.AddDate(0, 0, -1), Note: "afterwards"}, "")
	}
	return err
}

// lines reads what a child says, one word and the rest.
func lines(out io.Reader) func(func(word, rest string) bool) {
	return func(yield func(word, rest string) bool) {
		for s := bufio.NewScanner(out); s.Scan(); {
			if word, rest, _ := strings.Cut(s.Text(), " "); !yield(word, rest) {
				return
			}
		}
	}
}

var errNoSuchDeed = errors.New("no such deed")

func open(t testing.TB, path string) *logbook.Book {
	t.Helper()
	b, err := logbook.Open(path, options(2))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

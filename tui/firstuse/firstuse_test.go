package firstuse

import (
	"errors"
	"fmt"
	"io/fs"
	"reflect"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/model/demo"
	"example.org/headpond/model/plant"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// person sits before the first screen. What commands bring is carried out at once, unless hold is set.
type person struct {
	t     testing.TB
	m     tea.Model
	files map[string]string
	got   []Result
	quit  bool
	hold  bool
	held  []tea.Cmd
}

func newPerson(t testing.TB, look uitest.Look, w, h int) *person {
	p := &person{t: t, files: map[string]string{"tern.toml": demo.PlantText()}}
	o := Options{Common: uitest.Common(look, w, h, time.Date(2026, 8, 14, 8, 0, 0, 0, time.UTC)), Book: "/home/ro/headpond.book",
		ReadFile: func(path string) ([]byte, error) {
			if s, ok := p.files[path]; ok {
				return []byte(s), nil
			}
			return nil, errors.New("there is no such file")
		},
		InFolder: func(string) string { return ", in the folder /ro" },
		WriteNew: func(path string, data []byte) error {
			if _, ok := p.files[path]; ok {
				return fmt.Errorf("writing: %w", fs.ErrExist)
			}
			if strings.HasPrefix(path, "/root/") {
				return errors.New("permission denied")
			}
			p.files[path] = string(data)
			return nil
		}}
	p.m = New(o, func(r Result) { p.got = append(p.got, r) })
	return p
}

func (p *person) give(msg tea.Msg) {
	var cmd tea.Cmd
	p.m, cmd = p.m.Update(msg)
	p.run(cmd)
}

func (p *person) run(cmd tea.Cmd) {
	if cmd == nil {
		return
	}
	if p.hold {
		p.held = append(p.held, cmd)
		return
	}
	msg := cmd()
	if v := reflect.ValueOf(msg); v.IsValid() && v.Kind() == reflect.Slice && v.Type().Elem() == reflect.TypeFor[tea.Cmd]() {
		for i := range v.Len() { // tea.Sequence and tea.Batch
			p.run(v.Index(i).Interface().(tea.Cmd))
		}
		return
	}
	switch msg.(type) {
	case nil:
	case tea.QuitMsg:
		p.quit = true
	default:
		p.give(msg)
	}
}

func (p *person) press(names ...string) {
	p.t.Helper()
	for _, n := range names {
		p.give(uitest.Key(p.t, n))
	}
}

// path types a path in place of the one that is offered.
func (p *person) path(s string) {
	p.t.Helper()
	p.press("ctrl+u")
	for _, r := range s {
		p.press(string(r))
	}
}

func (p *person) see(parts ...string) {
	p.t.Helper()
	for _, part := range parts {
		if !strings.Contains(strings.Join(strings.Fields(p.m.View()), " "), part) {
			p.t.Errorf("the screen lacks %q:\n%s", part, p.m.View())
		}
	}
}

func TestTheThreeChoicesAreThere(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.see("There is no logbook yet. It will be made at /home/ro/headpond.book", "> 1 Load a plant file", "2 Write a starting file", "3 Look round the demo", "q quit")
	p.press("up", "down", "down", "down")
	p.see("> 3 Look round the demo")
}

func TestTheDemoIsChosen(t *testing.T) {
	for _, keys := range [][]string{{"3"}, {"down", "down", "enter"}} {
		p := newPerson(t, uitest.Look{}, 80, 24)
		p.press(keys...)
		if len(p.got) != 1 || p.got[0].Choice != Demo || !p.quit {
			t.Errorf("%v: %+v, quit %v", keys, p.got, p.quit)
		}
	}
}

func TestLeavingChoosesNothing(t *testing.T) {
	for _, keys := range [][]string{{"q"}, {"ctrl+c"}, {"1", "ctrl+c"}, {"1", "esc", "q"}} {
		p := newPerson(t, uitest.Look{}, 80, 24)
		p.press(keys...)
		if len(p.got) != 0 || !p.quit || len(p.files) != 1 {
			t.Errorf("%v: %+v, quit %v, files %d", keys, p.got, p.quit, len(p.files))
		}
	}
}

func TestASoundFileIsLoadedAfterAYes(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.press("1")
	p.see("plant.toml") // offered
	p.path("tern.toml")
	p.press("enter")
	p.see("tern.toml: nothing is wrong with this description of Tern Hollow.", "2 units (A, B), 4 ballast elements, America/Halifax", "worth a second look", "ballast: the working elements")
	if len(p.got) != 0 {
		t.Fatal("loaded before it was said")
	}
	p.press("enter")
	if len(p.got) != 1 || !p.quit {
		t.Fatalf("chose %+v, quit %v", p.got, p.quit)
	}
	if r := p.got[0]; r.Choice != Load || r.Path != "tern.toml" || string(r.Text) != demo.PlantText() || r.Plant == nil || r.Plant.Site.Name != "Tern Hollow" {
		t.Errorf("chose %v %q, %d bytes, plant %v", r.Choice, r.Path, len(r.Text), r.Plant)
	}
}

func TestEveryProblemIsShownAtItsPlaceAndTheFileReadAgain(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	bad := strings.NewReplacer("timezone =", "timezon =", "open_share = 0.40", "open_share = 4.0", `penstock = "main"`, `penstock = "mian"`).Replace(demo.PlantText())
	p.files["plant.toml"] = bad
	_, err := plant.Parse("plant.toml", []byte(bad))
	var want *plant.Problems
	if !errors.As(err, &want) || len(want.List) < 4 {
		t.Fatalf("the file should have problems: %v", err)
	}
	p.press("1", "enter")
	p.see(fmt.Sprintf("%d problems in plant.toml. The file was not changed.", len(want.List)))
	for _, x := range want.List {
		p.see(fmt.Sprintf("%d:%d %s", x.Line, x.Column, x.Key))
	}
	p.files["plant.toml"] = demo.PlantText()
	p.press("r")
	p.see("nothing is wrong with this description of Tern Hollow")
	p.files["plant.toml"] = bad
	p.press("r", "enter")
	p.see("The file was not changed")
	if p.files["plant.toml"] != bad || len(p.got) != 0 {
		t.Error("the file was changed, or loaded")
	}
	p.press("o")
	p.path("tern.toml")
	p.press("enter", "enter")
	if len(p.got) != 1 {
		t.Errorf("chose %+v", p.got)
	}
}

func TestManyProblemsAreScrolledThrough(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 60, 12)
	p.files["plant.toml"] = "[site]\n" + strings.Repeat("x", 2000) + "\n[[unit]]\n[[unit]]\n[[penstock]]\n"
	p.press("1", "enter")
	p.see("more below")
	p.press("end")
	p.see("more above")
	if strings.Contains(p.m.View(), "more below") {
		t.Error("the end is not reached")
	}
}

func TestAFileThatCannotBeReadIsTold(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.press("1", "enter")
	p.see("! plant.toml could not be read: there is no such file. Nothing was changed.")
	p.press("x")
	if strings.Contains(p.m.View(), "could not be read") {
		t.Error("the reason stays while another name is typed")
	}
	p.path("")
	p.press("enter")
	p.see("Write the name of a file")
	p.path("tern.toml")
	p.press("enter")
	delete(p.files, "tern.toml") // the stick is pulled out
	p.press("r")
	p.see("tern.toml could not be read")
}

func TestTheStartingFileIsWrittenAndCanBeLoadedOnceFilledIn(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.press("2")
	p.path("mine.toml")
	p.press("enter")
	if p.files["mine.toml"] != string(plant.Template()) {
		t.Fatalf("the file holds %q", p.files["mine.toml"])
	}
	p.see("mine.toml is written, in the folder /ro.", "tape measure", "name plates", "choose 1 the next time")
	p.press("enter")
	p.see("site.name: is that of the starting file")
	p.press("esc")
	p.see("> 2 Write a starting file")
}

func TestAFileThatIsThereIsNeverWrittenOver(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.press("2")
	p.path("tern.toml")
	p.press("enter")
	p.see("! tern.toml is there already and was not touched. Name another file.")
	if p.files["tern.toml"] != demo.PlantText() {
		t.Fatal("it was written over")
	}
	p.path("/root/x.toml")
	p.press("enter")
	p.see("! /root/x.toml could not be written: permission denied.")
}

func TestALateAnswerIsDropped(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.press("1")
	p.path("tern.toml")
	p.hold = true
	p.press("enter")
	p.see("One moment")
	p.press("enter") // once is enough
	p.hold = false
	p.press("esc", "2")
	for _, c := range p.held[:1] {
		p.run(c)
	}
	p.see("Where shall the starting file go?")
}

func TestAPathMayHoldAnyLetter(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.press("1")
	p.path("q3?r .toml")
	if p.quit || len(p.got) != 0 {
		t.Fatal("a letter acted")
	}
	p.see("q3?r .toml")
}

func TestHelpListsTheKeysAndDoesThem(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.press("?")
	p.see("Find:", "Look round the demo")
	for _, r := range "demo" {
		p.press(string(r))
	}
	p.press("enter")
	if len(p.got) != 1 || p.got[0].Choice != Demo {
		t.Errorf("chose %+v", p.got)
	}
	p = newPerson(t, uitest.Look{}, 80, 24)
	p.press("f1", "esc")
	p.see("> 1 Load")
}

func TestTextFromOutsideIsHarmless(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	name := "a\x1b[2Jb"
	p.files[name] = strings.Replace(demo.PlantText(), "Tern Hollow", `T\u001b[31mH`, 1)
	p.press("1", "ctrl+u")
	p.give(uitest.Paste(name))
	p.press("enter")
	if strings.ContainsRune(p.m.View(), 0x1b) {
		t.Errorf("it acts: %q", p.m.View())
	}
}

func TestBindingsWorkEverywhere(t *testing.T) {
	for _, keys := range steps() {
		p := stepped(t, uitest.Look{}, 80, 24, keys)
		if errs := ui.CheckBindings(append(p.m.(Model).screen.Bindings(), p.m.(Model).bindings()...)); len(errs) > 0 {
			t.Errorf("%v: %v", keys, errs)
		}
	}
}

// steps are the keys that lead to each step.
func steps() map[string][]string {
	return map[string][]string{"menu": nil, "load": {"1"}, "missing": {"1", "enter"}, "problems": {"1", "ctrl+u", "b", "enter"}, "ready": {"1", "ctrl+u", "t", "enter"}, "new": {"2"}, "written": {"2", "enter"}, "help": {"?"}}
}

func stepped(t testing.TB, look uitest.Look, w, h int, keys []string) *person {
	p := newPerson(t, look, w, h)
	p.files["b"] = strings.NewReplacer("timezone =", "timezon =", "open_share = 0.40", "open_share = 4.0").Replace(demo.PlantText())
	p.files["t"] = demo.PlantText()
	p.press(keys...)
	return p
}

func TestGoldens(t *testing.T) {
	for name, keys := range steps() {
		for lookName, look := range uitest.Looks() {
			for _, size := range []struct{ w, h int }{{80, 24}, {120, 40}} {
				if name != "menu" && name != "problems" && lookName != "nocolor" {
					continue
				}
				t.Run(fmt.Sprintf("%s-%s-%dx%d", name, lookName, size.w, size.h), func(t *testing.T) {
					golden.RequireEqual(t, []byte(stepped(t, look, size.w, size.h, keys).m.View()))
				})
			}
		}
	}
}

func TestItFitsAtAnySize(t *testing.T) {
	for name, keys := range steps() {
		t.Run(name, func(t *testing.T) {
			m := stepped(t, uitest.Look{Color: true}, 80, 24, keys).m
			rapid.Check(t, func(t *rapid.T) {
				w, h := rapid.IntRange(1, 160).Draw(t, "w"), rapid.IntRange(1, 60).Draw(t, "h")
				sized, _ := m.Update(tea.WindowSizeMsg{Width: w, Height: h})
				if err := uitest.Fits(sized.View(), w, h); err != nil {
					t.Fatal(err)
				}
			})
		})
	}
}

// A key that is none says so and names the one that helps; the next key takes that away. While a path is typed every letter is text.
func TestAKeyThatIsNoneSaysSo(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.press("4")
	p.see("There is no key 4 here: ? lists them", "> 1 Load a plant file")
	p.press("down")
	if strings.Contains(p.m.View(), "no key") {
		t.Errorf("it is still said:\n%s", p.m.View())
	}
	p.give(uitest.Paste("plant.toml"))
	p.see("Nothing here takes what is pasted")
	p.press("1", "x", "f9", "left")
	if strings.Contains(p.m.View(), "no key") {
		t.Errorf("a letter of a path is told to be no key:\n%s", p.m.View())
	}
}

// A path is pasted whole or, where it has several lines, not at all; what is there stays.
func TestAPathIsPasted(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.press("1", "ctrl+u")
	p.give(uitest.Paste("tern.toml\n")) // with the line's end, as a terminal's selection has it
	p.press("enter")
	p.see("tern.toml: nothing is wrong with this description of Tern Hollow")
	p = newPerson(t, uitest.Look{}, 80, 24)
	p.press("1", "ctrl+u", "t")
	p.give(uitest.Paste("a.toml\nb.toml"))
	p.see("! not pasted: several lines or columns, and a paste fills one field only.")
	p.press("enter")
	p.see("! t could not be read: there is no such file. Nothing was changed.")
}

// An empty name is asked for again and nothing is read or written; Esc leads back to the choices, and what was typed harms nothing.
func TestAnEmptyNameIsAskedForAgain(t *testing.T) {
	for _, key := range []string{"1", "2"} {
		p := newPerson(t, uitest.Look{}, 80, 24)
		p.press(key, "ctrl+u", "enter")
		p.see("Write the name of a file")
		if len(p.files) != 1 {
			t.Errorf("a file of no name was written: %v", p.files)
		}
		p.press("x")
		if strings.Contains(p.m.View(), "Write the name") {
			t.Errorf("it is still said while a name is typed:\n%s", p.m.View())
		}
		p.press("esc", "enter")
		p.see("plant.toml") // the name that is offered, not the one that was begun
	}
}

// Where a file cannot be written the reason is told, the name stays to be changed, and the next try works.
func TestAPlaceThatCannotBeWrittenIsTold(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.press("2")
	p.path("/root/new.toml")
	p.press("enter")
	p.see("/root/new.toml", "permission denied")
	p.path("new.toml")
	p.press("enter")
	p.see("new.toml is written, in the folder /ro.")
	if p.files["new.toml"] == "" {
		t.Error("nothing was written")
	}
}

// In a narrow window the sentences wrap, nothing is cut that must be read, and every key is still told by help.
func TestANarrowWindowLosesNoSentence(t *testing.T) {
	p := newPerson(t, uitest.Look{ASCII: true}, 40, 30)
	p.see("There is no logbook yet.", "once you have loaded a plant file; until then nothing is written.", "nothing of yours is touched.")
	if strings.Contains(p.m.View(), "~") {
		t.Errorf("something is cut:\n%s", p.m.View())
	}
	p.press("2", "enter")
	p.see("Replace every value by your plant's own", "the logbook is made.")
	p.press("?")
	p.see("Read the file, once it is filled in", "Leave Headpond")
}

// The window that is made smaller and larger while a file is asked for keeps what was typed.
func TestAWindowThatChangesKeepsWhatIsTyped(t *testing.T) {
	p := newPerson(t, uitest.Look{}, 80, 24)
	p.press("1")
	p.path("tern")
	p.give(tea.WindowSizeMsg{Width: 20, Height: 5})
	p.give(tea.WindowSizeMsg{Width: 100, Height: 40})
	for _, r := range ".toml" {
		p.press(string(r))
	}
	p.press("enter", "enter")
	if len(p.got) != 1 || p.got[0].Path != "tern.toml" || p.got[0].Plant == nil {
		t.Errorf("%+v", p.got)
	}
}

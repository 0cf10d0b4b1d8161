package main

import (
	"bytes"
	"fmt"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
)

// commands are whole processes: headpond on the book and the sqlite3 command on its file.
func commands(m *made, db *database, program string) []question {
	if program == "" {
		return nil
	}
	at := dusk.In(m.plant.Location).Format("2006-01-02 15:04")
	saved := 1000 // days after the end, so that nothing else stands there
	headpond := func(args ...string) func() (float64, error) {
		return func() (float64, error) {
			return 1, process(program, append([]string{"--book", m.book.Path()}, args...)...)
		}
	}
	sqlite := func(how, statement string) func() (float64, error) {
		return func() (float64, error) { return 1, process("sqlite3", how, db.path, statement) }
	}
	zip := filepath.Join(filepath.Dir(db.path), "log.zip")
	end := strconv.FormatInt(dusk.Unix(), 10)
	return []question{
		{name: "command: save a round",
			book: func() (float64, error) {
				saved++
				t := dusk.AddDate(0, 0, saved).In(m.plant.Location).Format("2006-01-02 15:04")
				return headpond("record", "time="+t, "running=A", "volts=240", "hertz=60.1", "pressure_kpa=131", "load_kw=3.1", "by=Ro")()
			},
			opened: func() (float64, error) {
				saved++
				return sqlite("-batch", fmt.Sprintf("PRAGMA synchronous=FULL; INSERT INTO rounds(id, time, running, volts, hertz, pressure_kpa, load_kw, by) VALUES ('x', %d, 'A', 240, 60.1, 131, 3.1, 'Ro')", dusk.AddDate(0, 0, saved).Unix()))()
			}},
		{name: "command: last round, judged", book: headpond("rounds", "--last", "1", "--json", "--at", at), opened: sqlite("-json", "SELECT * FROM rounds WHERE time <= "+end+" ORDER BY time DESC LIMIT 1")},
		{name: "command: review of a week", book: headpond("week", "--json", "--no-forecast", "--at", at), opened: sqlite("-json", inWords(periodSQL, dusk.AddDate(0, 0, -7).Unix(), dusk.Unix())+"; "+inWords(periodSQL, dusk.AddDate(0, 0, -14).Unix(), dusk.AddDate(0, 0, -7).Unix()))},
		{name: "command: rounds out of band", book: headpond("rounds", "--out", "--json", "--at", at),
			opened: sqlite("-json", fmt.Sprintf("SELECT * FROM rounds WHERE time <= %s AND (volts < %d OR volts > %d OR hertz < %g OR hertz > %g) ORDER BY time", end, voltsLeast, voltsMost, hertzLeast, hertzMost))},
		{name: "command: everything for somebody else", book: headpond("export", zip, "--replace"), opened: sqlite("-csv", "SELECT * FROM rounds ORDER BY time")},
	}
}

// inWords puts numbers in the places of the question marks.
func inWords(query string, numbers ...int64) string {
	for _, n := range numbers {
		query = strings.Replace(query, "?", strconv.FormatInt(n, 10), 1)
	}
	return query
}

func process(name string, args ...string) error {
	cmd := exec.Command(name, args...)
	var said bytes.Buffer
	cmd.Stderr = &said // standard output is thrown away by the system
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("%s %s: %w\n%s", name, strings.Join(args, " "), err, &said)
	}
	return nil
}

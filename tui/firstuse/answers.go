package firstuse

import (
	"errors"
	"io/fs"

	"example.org/headpond/model/plant"
)

// asProblems takes the list of problems out of an error.
func asProblems(err error, to **plant.Problems) bool { return errors.As(err, to) }

// read shows what became of reading a file: its problems, or that it is sound.
func (s screen) read(m read) screen {
	if m.seq != s.seq {
		return s
	}
	s.working = false
	switch {
	case m.err != nil:
		if !s.typing() { // it was read again from another step
			s = s.ask(loadPath, m.path)
		}
		s.failed = m.path + " could not be read: " + m.err.Error() + ". Nothing was changed"
	case m.problems != nil:
		s = s.to(mending)
		s.path, s.problems = m.path, m.problems
	default:
		s = s.to(ready)
		s.path, s.text, s.plant = m.path, m.text, m.plant
	}
	return s
}

// wrote shows what became of writing the starting file.
func (s screen) wrote(m wrote) screen {
	if m.seq != s.seq {
		return s
	}
	s.working = false
	switch {
	case errors.Is(m.err, fs.ErrExist):
		s.failed = m.path + " is there already and was not touched. Name another file"
	case m.err != nil:
		s.failed = m.path + " could not be written: " + m.err.Error()
	default:
		s = s.to(written)
		s.path = m.path
	}
	return s
}

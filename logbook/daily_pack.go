package logbook

import (
	"bytes"
	"compress/flate"
	"errors"
	"io"
)

// mostUnpacked is more than any day's sums take, so that a damaged row cannot ask for more memory.
const mostUnpacked = 4 << 20

var errTooLarge = errors.New("a roll-up unpacks to more than any day can hold")

// packer presses the parts of roll-ups together: their names and ids repeat, and two or three rows then fit a page of the file
// instead of one. It keeps its memory from one row to the next; the zero value is ready.
type packer struct {
	w   *flate.Writer
	r   io.ReadCloser
	out bytes.Buffer
}

// pack appends a part, pressed together, to a row.
func (z *packer) pack(to, part []byte) ([]byte, error) {
	b := bytes.NewBuffer(to)
	if z.w == nil {
		w, err := flate.NewWriter(b, flate.DefaultCompression)
		if err != nil {
			return nil, err
		}
		z.w = w
	} else {
		z.w.Reset(b)
	}
	if _, err := z.w.Write(part); err != nil {
		return nil, err
	}
	if err := z.w.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// unpack is a part as it was, until the next one is unpacked.
func (z *packer) unpack(pressed []byte) ([]byte, error) {
	in := bytes.NewReader(pressed)
	if z.r == nil {
		z.r = flate.NewReader(in)
	} else if err := z.r.(flate.Resetter).Reset(in, nil); err != nil {
		return nil, err
	}
	z.out.Reset()
	n, err := z.out.ReadFrom(io.LimitReader(z.r, mostUnpacked+1))
	switch {
	case err != nil:
		return nil, err
	case n > mostUnpacked:
		return nil, errTooLarge
	}
	return z.out.Bytes(), nil
}

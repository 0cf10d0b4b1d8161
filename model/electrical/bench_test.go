package electrical

import "testing"

func BenchmarkBallast(b *testing.B) {
	in := both(b, ternHollow(), 6.3)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Ballast(in); err != nil {
			b.Fatal(err)
		}
	}
}

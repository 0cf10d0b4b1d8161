package hydraulics

import "testing"

func BenchmarkFrictionFactor(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		FrictionFactor(3e5, 3e-5)
	}
}

func BenchmarkProperties(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Properties(7)
	}
}

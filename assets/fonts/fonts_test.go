package fonts

import "testing"

func TestFiguresAndSignsOfAColumnHaveOneWidth(t *testing.T) {
	for _, medium := range []bool{false, true} {
		want := Advance(medium, "0")
		for _, r := range "123456789" {
			if got := Advance(medium, string(r)); got != want {
				t.Errorf("medium %v: %c is %v em wide, 0 is %v", medium, r, got, want)
			}
		}
	}
}

func TestTheTypefaceHasWhatTheProgramWrites(t *testing.T) {
	for _, r := range "ABCÀÉÎÕÜßøłžÆŒ ΑΩαωΰ АЯаяЁёЖ 0123456789 −–—±×·°²³½¼≤≥≈→ “”‘’„«»…€£" {
		if r != ' ' && !Has(r) {
			t.Errorf("%c (%U) is missing", r, r)
		}
	}
}

func TestATextIsAsWideAsItsLetters(t *testing.T) {
	for _, medium := range []bool{false, true} {
		if a, b := Advance(medium, "S12 gate"), Advance(medium, "S12")+Advance(medium, " ")+Advance(medium, "gate"); a-b > 1e-12 || b-a > 1e-12 {
			t.Errorf("medium %v: %v em in one, %v in parts", medium, a, b)
		}
		if Advance(medium, "\U0001F600") != Advance(medium, "\U0001F601") {
			t.Error("two characters that are missing differ in width")
		}
	}
	if Advance(false, "") != 0 {
		t.Error("nothing has a width")
	}
}

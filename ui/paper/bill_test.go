package paper

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"pleach/model/order"
)

// priced is the demo with the prices that lie beside it.
func priced(t *testing.T) Input {
	t.Helper()
	f, err := os.Open("../../assets/demo/prices.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	p, err := order.ReadPrices(f)
	if err != nil {
		t.Fatal(err)
	}
	in := analysed(t)
	in.Prices, in.PricesFrom = &p, "prices.csv"
	return in
}

// plainPages is the text of each page by pdftotext, with plain spaces and hyphens.
func plainPages(t *testing.T, in Input, opt Options) []string {
	t.Helper()
	var b bytes.Buffer
	if _, err := Print(&b, in, opt); err != nil {
		t.Fatal(err)
	}
	text := poppler(t, b.Bytes(), "pdftotext", "-layout", "-enc", "UTF-8", "PDF", "-")
	text = strings.NewReplacer("\u00a0", " ", "\u2011", "-", "\u2010", "-").Replace(text)
	return strings.Split(strings.TrimSuffix(text, "\f"), "\f")
}

func TestPricesStandOnTheBillAndOnNoOtherSheet(t *testing.T) {
	in := priced(t)
	pages := plainPages(t, in, Options{Sheets: Sheets()})
	bills := 0
	for i, p := range pages {
		has := strings.Contains(p, "EUR") || strings.Contains(p, "512.00")
		if is := strings.Contains(p, "Bill of materials and batteries"); is {
			bills++
		} else if has {
			t.Errorf("page %d has prices:\n%s", i+1, p)
		}
	}
	if bills == 0 {
		t.Fatal("the set has no bill")
	}
	bill := strings.Join(plainPages(t, in, Options{Sheets: []string{billName}}), "")
	// Masks and what is wired have no price: the total says so.
	for _, want := range []string{"Total of what has a price", "It has none for output-relay, output-serial, output-ip", "7 168.00", "not for the van"} {
		if !strings.Contains(bill, want) {
			t.Errorf("the bill does not say %q:\n%s", want, bill)
		}
	}
	if plain := strings.Join(plainPages(t, analysed(t), Options{Sheets: []string{billName}}), ""); strings.Contains(plain, "Total") || strings.Contains(plain, "Each") {
		t.Errorf("a bill without prices has sums:\n%s", plain)
	}
}

func TestTheTotalIsTheSumOfTheLines(t *testing.T) {
	in := priced(t)
	lines, total, _, _ := in.Prices.Price(order.Bill(in.Result))
	var sum int64
	for _, l := range lines {
		if l.Has {
			sum += l.Each * int64(l.Quantity())
		}
	}
	bill := strings.Join(plainPages(t, in, Options{Sheets: []string{billName}}), "")
	if total != sum || !strings.Contains(bill, strings.ReplaceAll(order.Money(sum), "\u00a0", " ")) {
		t.Errorf("total %d, sum %d:\n%s", total, sum, bill)
	}
}

func TestPricesWithoutTheBillAreRefused(t *testing.T) {
	if _, err := Print(&bytes.Buffer{}, priced(t), Options{Sheets: []string{"van"}}); err == nil || !strings.Contains(err.Error(), "prices go on the bill") {
		t.Errorf("%v", err)
	}
}

func TestTheVanBringsBatteries(t *testing.T) {
	van := strings.Join(plainPages(t, analysed(t), Options{Sheets: []string{"van"}}), "")
	if !strings.Contains(van, "Battery, 3.6 V, 14000 mAh") || !strings.Contains(van, "Battery, 3.6 V, 38000 mAh") {
		t.Errorf("the van sheet does not name the batteries:\n%s", van)
	}
}

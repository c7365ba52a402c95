package order

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Prices are what items cost, by code.
type Prices struct {
	Currency string           // "EUR", "" where the table states none
	Each     map[string]int64 // hundredths
}

// mostPrice is the highest price of one item, in hundredths: more is taken for a
// slip of the pen, and sums stay exact.
const mostPrice = 100_000_000_00

// mostFaults is how many faults of one table are told. Chosen, as of a temperature series.
const mostFaults = 20

// MaxBytes is how large a table of prices may be.
const MaxBytes = 8 << 20

// ReadPrices reads a table of prices: comma-separated values with a line of
// headings, among them code and price, and currency where it is stated; other
// columns are passed over, so that a bill that was exported and given a column of
// prices serves. Semicolons may part the values, and the price may then have a
// decimal comma. A line without a price prices nothing. Errors name line, column
// and value; the first 20 are returned together.
func ReadPrices(from io.Reader) (Prices, error) {
	p := Prices{Each: map[string]int64{}}
	data, err := io.ReadAll(from)
	if err != nil {
		return p, err
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if !utf8.Valid(data) {
		return p, errors.New("is not text in UTF-8: save the table of prices as CSV in UTF-8")
	}
	first, _, _ := bytes.Cut(data, []byte("\n"))
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	if bytes.Count(first, []byte(";")) > bytes.Count(first, []byte(",")) {
		r.Comma = ';'
	}
	heads, err := r.Read()
	switch {
	case errors.Is(err, io.EOF):
		return p, errors.New("is empty: it needs the headings code and price, and a line for each item")
	case err != nil:
		return p, plainCSV(err)
	}
	at := map[string]int{}
	for i, h := range heads {
		h = strings.ToLower(strings.TrimSpace(h))
		if _, twice := at[h]; twice && (h == "code" || h == "price" || h == "currency") {
			return p, fmt.Errorf("line 1, column %d: %s is a heading twice", i+1, h)
		}
		at[h] = i
	}
	code, hasCode := at["code"]
	price, hasPrice := at["price"]
	currency, hasCurrency := at["currency"]
	if !hasCode || !hasPrice {
		return p, fmt.Errorf("line 1: the headings are %s: it needs code and price, as in code,price,currency", strings.Join(heads, ", "))
	}
	var faults []error
	wrong := func(format string, args ...any) {
		if len(faults) < mostFaults {
			faults = append(faults, fmt.Errorf(format, args...))
		}
	}
	lines := map[string]int{}
	for {
		rec, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return p, errors.Join(append(faults, plainCSV(err))...)
		}
		line, _ := r.FieldPos(0)
		cell := func(i int) string {
			if i < len(rec) {
				return strings.TrimSpace(rec[i])
			}
			return ""
		}
		key, text := Key(cell(code)), cell(price)
		if text == "" {
			continue
		}
		if key == "" {
			wrong("line %d, column %d: a price of %s without a code", line, code+1, text)
			continue
		}
		cents, err := money(text, r.Comma == ';')
		if err != nil {
			wrong("line %d, column %d: %w", line, price+1, err)
			continue
		}
		if was, twice := lines[key]; twice {
			wrong("line %d, column %d: %s has a price already in line %d", line, code+1, cell(code), was)
			continue
		}
		lines[key], p.Each[key] = line, cents
		if c := strings.ToUpper(cell(currency)); hasCurrency && c != "" {
			switch {
			case len(c) != 3 || strings.Trim(c, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "":
				wrong("line %d, column %d: currency %s is not a code of three letters such as EUR (ISO 4217)", line, currency+1, cell(currency))
			case p.Currency != "" && p.Currency != c:
				wrong("line %d, column %d: %s, but earlier lines are in %s: one table has one currency", line, currency+1, c, p.Currency)
			default:
				p.Currency = c
			}
		}
	}
	if len(faults) == 0 && len(p.Each) == 0 {
		return p, errors.New("has no prices: fill in the column price")
	}
	return p, errors.Join(faults...)
}

// Key is a code as prices are found by: without regard to case, outer spaces, and
// the apostrophe that an export sets before what a spreadsheet takes for a formula.
func Key(code string) string {
	return strings.ToLower(strings.TrimPrefix(strings.TrimSpace(code), "'"))
}

func plainCSV(err error) error {
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		return fmt.Errorf("line %d, column %d: %w", pe.Line, pe.Column, pe.Err)
	}
	return err
}

// money reads an amount of at most two decimals into hundredths.
func money(s string, comma bool) (int64, error) {
	wrong := fmt.Errorf("price %s is not an amount such as 1234.50, without a thousands separator or a currency sign", s)
	t := s
	if comma && strings.Count(t, ",") == 1 && !strings.Contains(t, ".") {
		t = strings.Replace(t, ",", ".", 1)
	}
	whole, cents, has := strings.Cut(t, ".")
	if has && (cents == "" || len(cents) > 2) || whole == "" {
		return 0, wrong
	}
	for len(cents) < 2 {
		cents += "0"
	}
	if strings.Trim(whole+cents, "0123456789") != "" {
		return 0, wrong
	}
	v, err := strconv.ParseInt(whole+cents, 10, 64)
	if err != nil || v > mostPrice {
		return 0, fmt.Errorf("price %s is above %s", s, Money(mostPrice))
	}
	return v, nil
}

// Money writes hundredths as an amount: "1 234.50", with hard spaces.
func Money(cents int64) string {
	whole := strconv.FormatInt(cents/100, 10)
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "\u00a0" + whole[i:]
	}
	return fmt.Sprintf("%s.%02d", whole, cents%100)
}

// Priced is a line of the bill with what it costs.
type Priced struct {
	Line
	Each, Sum int64 // hundredths
	Has       bool  // false where the table has no price for it
}

// Price prices a bill. Total is of the lines that have a price; without are the
// codes of those that have none, and unused those the bill does not ask for, by
// name.
func (p Prices) Price(bill []Line) (lines []Priced, total int64, without, unused []string) {
	asked := map[string]bool{}
	for _, l := range bill {
		each, ok := p.Each[Key(l.Code)]
		asked[Key(l.Code)] = true
		q := Priced{Line: l, Has: ok}
		if ok {
			q.Each, q.Sum = each, each*int64(l.Quantity())
			total += q.Sum
		} else {
			without = append(without, l.Code)
		}
		lines = append(lines, q)
	}
	for code := range p.Each {
		if !asked[code] {
			unused = append(unused, code)
		}
	}
	slices.Sort(unused)
	return lines, total, without, unused
}

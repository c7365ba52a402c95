package contrast

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
)

// Reading is one line of a temperature series, in degrees Celsius.
type Reading struct {
	Time       time.Time
	Air        float64
	Background float64 // of the surface behind the target; that of the air where it was not Measured
	Measured   bool
}

// The columns of a series, in any order. The last may be left out, or be empty in
// a line.
const (
	columnTime       = "time"
	columnAir        = "air_c"
	columnBackground = "background_c"
)

const (
	mostFaults   = 20        // faults told of one file
	mostReadings = 2_000_000 // nearly four years of minutes

	// MaxBytes is the most of a temperature series that is read; chosen: four years
	// of minutes have less.
	MaxBytes = 200 << 20
)

// ReadSeries reads a temperature series: comma-separated, with the header
// time,air_c,background_c (background_c may be absent), times as RFC 3339 with or
// without seconds, always with Z or an offset, each after the one before.
//
// It returns either all of the file or an error, which holds at most 20 faults with
// their line, column, value, allowed range and remedy. The name of the file is the
// caller's to add.
func ReadSeries(r io.Reader) ([]Reading, error) {
	b := bufio.NewReader(r)
	if mark, _ := b.Peek(3); string(mark) == "\xef\xbb\xbf" {
		b.Discard(3)
	}
	c := csv.NewReader(b)
	c.FieldsPerRecord = -1
	c.ReuseRecord = true
	head, err := c.Read()
	if err == io.EOF {
		return nil, fmt.Errorf("line 1: the file is empty: the first line must be %s,%s or %s,%s,%s",
			columnTime, columnAir, columnTime, columnAir, columnBackground)
	}
	if err != nil {
		return nil, csvFault(err)
	}
	cols, err := columns(head)
	if err != nil {
		return nil, err
	}
	var out []Reading
	var faults []error
	for {
		rec, err := c.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			faults = append(faults, csvFault(err))
			break // after a broken quote lines are no longer lines
		}
		line, _ := c.FieldPos(0)
		if len(rec) == 1 && strings.TrimSpace(rec[0]) == "" {
			continue
		}
		if len(rec) != cols.count {
			faults = append(faults, fmt.Errorf("line %d: %d values, the header has %d columns: numbers with a decimal comma must be written with a point", line, len(rec), cols.count))
		} else if v, err := cols.reading(line, rec); err != nil {
			faults = append(faults, err)
		} else if n := len(out); n > 0 && !v.Time.After(out[n-1].Time) {
			faults = append(faults, fmt.Errorf("line %d: %s %s is not after the time before it, %s: sort the lines by time and keep one a time",
				line, columnTime, v.Time.Format(time.RFC3339), out[n-1].Time.Format(time.RFC3339)))
		} else {
			out = append(out, v)
		}
		if len(out) > mostReadings {
			faults = append(faults, fmt.Errorf("line %d: more than %d readings: thin the series out to one in ten minutes", line, mostReadings))
			break
		}
		if len(faults) == mostFaults {
			break
		}
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	if len(out) == 0 {
		return nil, errors.New("line 2: there is no reading below the header")
	}
	return out, nil
}

// csvFault says a csv error in our words.
func csvFault(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return fmt.Errorf("line %d: not comma-separated text: %w", p.Line, p.Err)
	}
	return fmt.Errorf("read the temperature series: %w", err)
}

// places are where the columns stand; background is -1 where there is none.
type places struct{ time, air, background, count int }

func columns(head []string) (places, error) {
	p := places{-1, -1, -1, len(head)}
	for i, name := range head {
		var at *int
		switch strings.TrimSpace(name) {
		case columnTime:
			at = &p.time
		case columnAir:
			at = &p.air
		case columnBackground:
			at = &p.background
		default:
			if len(head) == 1 && strings.ContainsAny(name, ";\t") {
				return p, fmt.Errorf("line 1: %.60q is not parted by commas: write %s,%s,%s", name, columnTime, columnAir, columnBackground)
			}
			return p, fmt.Errorf("line 1: column %.60q is not known: the columns are %s, %s and %s", name, columnTime, columnAir, columnBackground)
		}
		if *at >= 0 {
			return p, fmt.Errorf("line 1: column %s stands there twice: keep one", name)
		}
		*at = i
	}
	for _, need := range []struct {
		at   int
		name string
	}{{p.time, columnTime}, {p.air, columnAir}} {
		if need.at < 0 {
			return p, fmt.Errorf("line 1: column %s is missing: the first line must be %s,%s or %s,%s,%s",
				need.name, columnTime, columnAir, columnTime, columnAir, columnBackground)
		}
	}
	return p, nil
}

func (p places) reading(line int, rec []string) (r Reading, err error) {
	var errs []error
	fail := func(err error) {
		if err != nil {
			errs = append(errs, fmt.Errorf("line %d: %w", line, err))
		}
	}
	r.Time, err = readTime(strings.TrimSpace(rec[p.time]))
	fail(err)
	r.Air, err = readCelsius(columnAir, strings.TrimSpace(rec[p.air]), MinAir, MaxAir)
	fail(err)
	r.Background = r.Air
	if p.background >= 0 {
		if text := strings.TrimSpace(rec[p.background]); text != "" {
			r.Background, err = readCelsius(columnBackground, text, MinBackground, MaxBackground)
			r.Measured = true
			fail(err)
		}
	}
	return r, errors.Join(errs...)
}

func readTime(text string) (time.Time, error) {
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04Z07:00"} {
		if t, err := time.Parse(layout, text); err == nil {
			return t, nil
		}
	}
	for _, layout := range []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02 15:04"} {
		if t, err := time.Parse(layout, text); err == nil {
			return t, fmt.Errorf("%s %q has no zone: write %s for UTC, or its offset as in +01:00", columnTime, text, t.Format(time.RFC3339))
		}
	}
	return time.Time{}, fmt.Errorf("%s %.40q is not a date and time: write it as 2026-07-14T13:00:00Z", columnTime, text)
}

func readCelsius(column, text string, lo, hi float64) (float64, error) {
	if text == "" {
		return 0, fmt.Errorf("%s is empty: leave the line out where it was not measured", column)
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil && !errors.Is(err, strconv.ErrRange) || math.IsNaN(v) {
		remedy := ""
		if strings.Contains(text, ",") {
			remedy = ": write the decimals with a point"
		}
		return 0, fmt.Errorf("%s %.40q is not a number of degrees Celsius%s", column, text, remedy)
	}
	if !(v >= lo && v <= hi) {
		return 0, fmt.Errorf("%s %s is not between %g and %g degrees Celsius", column, text, lo, hi)
	}
	return v, nil
}

// Target is what is to be told from its background.
type Target struct {
	Body     float64 // degrees Celsius: Skin
	Clothing float64 // 0 bare to 1 as warm as the air, see Surface
}

// Threshold is a difference of temperature, in kelvin, that passive-infrared sensors
// are commonly said to need: 3 degrees Fahrenheit.
//
// Source: UFC 4-021-02NF, 5-3.7 (indoor sensors).
const Threshold = 1.7

// Spell is a time of low contrast.
type Spell struct {
	From, To time.Time
	Least    float64 // K, least distance between target and background within it
}

// Duration returns how long the spell lasts.
func (s Spell) Duration() time.Duration { return s.To.Sub(s.From) }

// Bridge is the longest time between two readings over which temperatures are taken
// to change evenly. Over a longer one nothing is said. Chosen: the usual three hours
// of weather stations.
const Bridge = 3 * time.Hour

// LowContrast returns the times at which the target's surface is within threshold
// kelvin of its background, in order of time, and the whole time the series tells
// of. Where the background was not measured that of the air stands in, which by day
// flatters: sunlit ground is warmer. A reading with no other within Bridge counts for
// its moment alone.
func LowContrast(series []Reading, t Target, threshold float64) (spells []Spell, known time.Duration) {
	apart := func(r Reading) float64 { return Surface(t.Body, r.Air, t.Clothing) - r.Background }
	add := func(from, to time.Time, least float64) {
		if n := len(spells); n > 0 && spells[n-1].To.Equal(from) {
			s := &spells[n-1]
			s.To, s.Least = to, math.Min(s.Least, least)
			return
		}
		spells = append(spells, Spell{from, to, least})
	}
	for i, r := range series {
		a := apart(r)
		if math.Abs(a) < threshold {
			add(r.Time, r.Time, math.Abs(a))
		}
		if i+1 == len(series) {
			break
		}
		next := series[i+1]
		gap := next.Time.Sub(r.Time)
		if gap > Bridge {
			continue
		}
		known += gap
		b := apart(next)
		f0, f1, least := below(a, b, threshold)
		if f0 < f1 {
			add(r.Time.Add(share(gap, f0)), r.Time.Add(share(gap, f1)), least)
		}
	}
	return spells, known
}

func share(d time.Duration, f float64) time.Duration {
	return time.Duration(math.Round(float64(d) * f))
}

// below returns between which fractions of the way from a to b a value lies within
// limit of zero, the second not above the first where it never does, and how near it
// comes.
func below(a, b, limit float64) (f0, f1, least float64) {
	if a > b {
		a, b = -a, -b
	}
	if a >= limit || b <= -limit {
		return 1, 0, 0
	}
	f0, f1 = 0, 1
	if a < -limit {
		f0 = (-limit - a) / (b - a)
	}
	if b > limit {
		f1 = (limit - a) / (b - a)
	}
	if a < 0 && b > 0 {
		return f0, f1, 0
	}
	return f0, f1, math.Min(math.Abs(a), math.Abs(b))
}

// ByMonthAndHour returns how long the spells last in each month and hour of the day,
// as clocks show them in loc, UTC where it is nil.
func ByMonthAndHour(spells []Spell, loc *time.Location) (sum [12][24]time.Duration) {
	if loc == nil {
		loc = time.UTC
	}
	for _, s := range spells {
		for at := s.From; at.Before(s.To); {
			local := at.In(loc)
			end := at.Add(time.Hour - time.Duration(local.Minute())*time.Minute -
				time.Duration(local.Second())*time.Second - time.Duration(local.Nanosecond()))
			if end.After(s.To) {
				end = s.To
			}
			sum[local.Month()-1][local.Hour()] += end.Sub(at)
			at = end
		}
	}
	return sum
}

package gdal

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"image"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	raw "github.com/lukeroth/gdal"
	"github.com/paulmach/orb"
)

// terrainFormats are the kinds of file heights are read from. Those without
// first bytes of their own are told by their ending, as common practice has it.
var terrainFormats = []terrainFormat{
	{format: imageFormats[0]},
	{format: imageFormats[1]},
	{format: imageFormats[3]},
	{format: format{name: "Esri ASCII grid", driver: "AAIGrid", magic: []string{"ncols", "nrows", "xll", "yll", "cellsize", "dx ", "dy "}}, text: true},
	{format: format{name: "Erdas Imagine", driver: "HFA", magic: []string{"EHFA_HEADER_TAG"}}},
	{format: format{name: "DTED", driver: "DTED", magic: []string{"UHL1", "VOL1", "HDR1"}}},
	{format: format{name: "Surfer grid", driver: "GSBG", magic: []string{"DSBB"}}},
	{format: format{name: "Surfer 7 grid", driver: "GS7BG", magic: []string{"DSRB"}}},
	{format: format{name: "Surfer text grid", driver: "GSAG", magic: []string{"DSAA"}}, text: true},
	{format: format{name: "SRTM", driver: "SRTMHGT"}, endings: []string{".hgt"}},
	{format: format{name: "USGS DEM", driver: "USGSDEM"}, endings: []string{".dem"}, text: true},
	{format: format{name: "Esri grid with header", driver: "EHdr"}, endings: []string{".bil", ".flt"}, beside: ".hdr"},
	{format: format{name: "XYZ", driver: "XYZ"}, endings: []string{".xyz"}, text: true},
}

const terrainKinds = "GeoTIFF, Esri grids (.asc, .bil, .flt), Erdas Imagine, DTED, SRTM, USGS DEM, Surfer grids, XYZ, PNG and JPEG 2000"

type terrainFormat struct {
	format
	endings []string
	beside  string // ending of a file beside it without which it cannot be read
	text    bool   // numbers are written out: each takes two bytes or more
}

func init() {
	for _, f := range terrainFormats {
		drivers[f.driver] = true
	}
}

// Limits of what is opened as heights. Chosen, so that no file makes the program
// run for minutes or take more than about 1 GB, whatever it claims.
const (
	maxTerrainSide   = 100_000   // cells of width or height
	maxTerrainWindow = 1 << 29   // cells read to cover the site
	maxTerrainText   = 512 << 20 // bytes of a file of written numbers: it is read from its beginning
)

// Units of height, metres.
const (
	internationalFoot = 0.3048
	surveyFoot        = 1200.0 / 3937
)

// TerrainOptions are what the user says about a raster of heights.
type TerrainOptions struct {
	// CRS, "EPSG:n" or well-known text, is used where the file names none.
	CRS string
	// Unit is "m", "ft" or "" for what the file says, metres where it says
	// nothing.
	Unit string
	// MaxCells is how many heights are kept; of more, several are averaged into
	// one. 0 is 64 million, 256 MB.
	MaxCells int
}

// TerrainInfo is what is to be said of a raster of heights.
type TerrainInfo struct {
	Path          string // as given
	Format        string // "TIFF", "Esri ASCII grid", ...
	Width, Height int    // cells of the whole raster
	Type          string // of number
	CRS           CRS
	PositionFrom  string    // "the file" or the world file's name
	LonLat        orb.Bound // of the whole raster on WGS 84
	Unit          float64   // metres in one of the raster's numbers, after its own scale
	UnitName      string    // "metre", "foot", "US survey foot", ...
	UnitFrom      string    // "the file", "the plan", or "" where neither says

	// Of the part that was read (OpenTerrain only).
	Window    image.Rectangle // columns and rows
	Every     int             // cells averaged into one along each side, 1 where none were
	Low, High float64         // least and greatest height, metres
	Holes     int             // cells in Window without a height
	Misses    float64         // how far the mapping onto the site grid is off, in cells

	MayBeFeet bool // nothing says the unit, and something speaks for feet

	// Notes are sentences for the user.
	Notes []string
}

func (t *TerrainInfo) note(format string, args ...any) {
	t.Notes = append(t.Notes, fmt.Sprintf(format, args...))
}

// LookAtTerrain looks at a raster of heights without reading its numbers. It
// refuses, in one line that names the file, what cannot be one: a picture, what
// has no place on the ground or no coordinate reference system (ErrNoCRS), what
// claims more than 100 000 cells on a side. It reads no file but this one and
// those of fixed names beside it (world file, .prj, .hdr), and no network
// address whatever the file says.
func LookAtTerrain(path string, opt TerrainOptions) (TerrainInfo, error) {
	var info TerrainInfo
	err := locked(func() error {
		t, err := openTerrain(path, opt)
		if err != nil {
			return err
		}
		t.ds.Close()
		info = t.TerrainInfo
		return nil
	})
	return info, err
}

// terrainFile is an open raster of heights. Its data set is closed by who opened
// it.
type terrainFile struct {
	TerrainInfo
	ds       raw.Dataset
	image    *ImageInfo
	maxCells int
	heights
}

// heights says how the numbers of a raster become heights in metres.
type heights struct {
	band          raw.RasterBand
	mask          *raw.RasterBand // 0 where nothing is known; nil for none
	noData        *float64
	scale, offset float64 // of the numbers, then times Unit
}

// openTerrain opens a raster of heights within the limits. The caller holds the
// thread and closes the data set.
func openTerrain(path string, opt TerrainOptions) (*terrainFile, error) {
	name := shown(path)
	abs, err := regularFile(path)
	if err != nil {
		return nil, err
	}
	f, siblings, err := terrainKind(path, abs)
	if err != nil {
		return nil, err
	}
	ds, err := raw.OpenEx(abs, raw.OFReadOnly|raw.OFRaster, []string{f.driver}, f.openOptions(), siblings)
	if err != nil || ds.IsNull() {
		return nil, failure(fmt.Sprintf("%s: cannot be opened as %s", name, f.name))
	}
	t, err := describeTerrain(ds, path, abs, f, opt)
	if err != nil {
		ds.Close()
		return nil, err
	}
	return t, nil
}

// openOptions ask for numbers as written, not rounded to the four bytes the
// driver would choose.
func (f terrainFormat) openOptions() []string {
	if f.driver == "AAIGrid" {
		return []string{"DATATYPE=Float64"}
	}
	return nil
}

// terrainKind tells what kind of raster a file is, and which files beside it the
// library may look at.
func terrainKind(path, abs string) (f terrainFormat, siblings []string, err error) {
	name := shown(path)
	head, size, err := beginning(abs)
	if err != nil {
		return f, nil, fmt.Errorf("%s: %s", name, reason(err))
	}
	f, ok := kindOf(head, strings.ToLower(filepath.Ext(abs)))
	switch {
	case ok:
	case bytes.HasPrefix(head, []byte("\xff\xd8\xff")):
		return f, nil, fmt.Errorf("%s: is a JPEG picture, not heights: JPEG blurs numbers; a raster of heights comes as a GeoTIFF or an Esri grid", name)
	case bytes.Contains(head, []byte("<VRTDataset")):
		return f, nil, fmt.Errorf("%s: names other files, which are not followed: save it as a GeoTIFF", name)
	case looksLikeText(head):
		return f, nil, fmt.Errorf("%s: holds text, not a raster of heights: %s are", name, terrainKinds)
	default:
		return f, nil, fmt.Errorf("%s: is not a raster of heights of a kind that is read: %s are", name, terrainKinds)
	}
	if f.text && size > maxTerrainText {
		return f, nil, fmt.Errorf("%s: is %d MB of written numbers; up to %d MB are read: save it as a GeoTIFF", name, size>>20, maxTerrainText>>20)
	}
	siblings = []string{base(abs)}
	stem := strings.TrimSuffix(abs, filepath.Ext(abs))
	for _, ending := range []string{".prj", ".hdr", ".stx", ".clr", ".sta"} {
		for _, e := range []string{ending, strings.ToUpper(ending)} {
			st, err := os.Stat(stem + e)
			if err != nil {
				continue
			}
			// The library would wait for a pipe for ever.
			if !st.Mode().IsRegular() || st.Size() > maxWKT {
				return f, nil, fmt.Errorf("%s: the file %s beside it is not a small ordinary file", name, shown(base(stem+e)))
			}
			if ending == f.beside || ending == ".prj" {
				siblings = append(siblings, base(stem+e))
			}
			if ending == f.beside {
				f.beside = ""
			}
		}
	}
	if f.beside != "" {
		return f, nil, fmt.Errorf("%s: lacks the file %s beside it, which says how large it is and where it lies", name, shown(base(stem+f.beside)))
	}
	if f.driver == "AAIGrid" {
		if err := checkTextGrid(abs); err != nil {
			return f, nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	return f, siblings, nil
}

// checkTextGrid reports where a text grid holds something other than numbers,
// which the library would take as 0.
func checkTextGrid(abs string) error {
	f, err := os.Open(abs)
	if err != nil {
		return errors.New(reason(err))
	}
	defer f.Close()
	in := bufio.NewReaderSize(f, 1<<16)
	line := 1
	for ; ; line++ {
		word, err := in.Peek(2)
		if err != nil || !slices.Contains([]string{"nc", "nr", "xl", "yl", "ce", "no", "dx", "dy"}, strings.ToLower(string(word))) {
			break
		}
		if _, err := in.ReadSlice('\n'); err != nil {
			return fmt.Errorf("line %d of its head has no end", line)
		}
	}
	for {
		buf, err := in.Peek(1)
		if err == nil {
			buf, _ = in.Peek(in.Buffered())
		}
		for _, c := range buf {
			if c == '\n' {
				line++
			} else if !numberByte[c] {
				return fmt.Errorf("line %d holds the character %q, which is part of no number", line, c)
			}
		}
		in.Discard(len(buf))
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return errors.New(reason(err))
		}
	}
}

// numberByte holds what numbers and the space between them are written with,
// not-a-number and infinity too.
var numberByte = func() (t [256]bool) {
	for _, c := range []byte("0123456789+-.,eEdDnNaAiIfF# \t\r\x00\x1a") {
		t[c] = true
	}
	return t
}()

func kindOf(head []byte, ending string) (terrainFormat, bool) {
	lower := bytes.ToLower(bytes.TrimLeft(head, " \t\r\n"))
	for _, f := range terrainFormats {
		for _, m := range f.magic {
			if bytes.HasPrefix(head, []byte(m)) || f.text && bytes.HasPrefix(lower, bytes.ToLower([]byte(m))) {
				return f, true
			}
		}
		for _, e := range f.endings {
			if e == ending && looksLikeText(head) == f.text {
				return f, true
			}
		}
	}
	return terrainFormat{}, false
}

// beginning returns the first bytes of a file and its size.
func beginning(abs string) (head []byte, size int64, err error) {
	f, err := os.Open(abs)
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return nil, 0, err
	}
	head = make([]byte, 512)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, 0, err
	}
	return head[:n], st.Size(), nil
}

func describeTerrain(ds raw.Dataset, path, abs string, f terrainFormat, opt TerrainOptions) (*terrainFile, error) {
	name := shown(path)
	t := &terrainFile{ds: ds, maxCells: opt.MaxCells}
	if t.maxCells <= 0 {
		t.maxCells = maxTerrainCells
	}
	t.Path, t.Format, t.Width, t.Height = path, f.name, ds.RasterXSize(), ds.RasterYSize()
	if err := t.checkSize(abs, f); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if err := t.chooseBand(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if err := t.checkBlocks(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if err := t.place(f, opt); err != nil {
		return nil, err
	}
	if err := t.chooseUnit(opt.Unit); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return t, nil
}

func (t *terrainFile) checkSize(abs string, f terrainFormat) error {
	w, h := int64(t.Width), int64(t.Height)
	switch {
	case w < 1 || h < 1 || t.ds.RasterCount() < 1:
		return errors.New("holds no heights")
	case w > maxTerrainSide || h > maxTerrainSide:
		return fmt.Errorf("claims %d x %d cells; up to %d on a side are read: cut out the part around the site", w, h, maxTerrainSide)
	case w < 2 || h < 2:
		return fmt.Errorf("has %d x %d cells, which make no ground: at least 2 x 2 do", w, h)
	}
	if f.text && f.driver != "XYZ" {
		if st, err := os.Stat(abs); err == nil && 2*w*h > st.Size()+1 {
			return fmt.Errorf("claims %d x %d cells in %d bytes: it is cut short", w, h, st.Size())
		}
	}
	return nil
}

func (t *terrainFile) checkBlocks() error {
	bw, bh := t.band.BlockSize()
	if size := int64(bw) * int64(bh) * int64(t.band.RasterDataType().Size()/8); bw < 1 || bh < 1 || size > maxBlockBytes {
		return fmt.Errorf("is stored in blocks of %d x %d cells, %d MB each; up to %d MB are read: save it again with smaller tiles", bw, bh, size>>20, maxBlockBytes>>20)
	}
	if t.Format != "Erdas Imagine" {
		return nil
	}
	for _, file := range t.ds.FileList() {
		if strings.EqualFold(filepath.Ext(file), ".ige") {
			return fmt.Errorf("keeps its heights in another file (%s), which is not followed: save it as a GeoTIFF", shown(base(file)))
		}
	}
	return nil
}

// chooseBand finds the band of heights, or says what else the raster is.
func (t *terrainFile) chooseBand() error {
	n := t.ds.RasterCount()
	var plain, bytes, coloured int
	at := 0
	for i := 1; i <= n; i++ {
		b := t.ds.RasterBand(i)
		switch c := b.ColorInterp(); c {
		case raw.CI_AlphaBand:
			continue
		case raw.CI_Undefined, raw.CI_GrayIndex:
		case raw.CI_PaletteIndex:
			if b.ColorTable().EntryCount() > 0 {
				return fmt.Errorf("is a picture: the numbers of band %d stand for colours of a table, not for heights", i)
			}
		default:
			coloured++
		}
		if at == 0 {
			at = i
		}
		plain++
		if b.RasterDataType() == raw.Byte {
			bytes++
		}
	}
	switch {
	case plain == 0:
		return errors.New("holds no heights, only transparency")
	case coloured > 1 || bytes >= 3:
		return fmt.Errorf("is a picture of %d bands of colour (%s), not a raster of heights", n, t.ds.RasterBand(1).RasterDataType().Name())
	case plain > 1:
		t.note("Of its %d bands the first is read.", plain)
	}
	b := t.ds.RasterBand(at)
	kind := b.RasterDataType()
	if kind.IsComplex() != 0 || kind == raw.Unknown {
		return fmt.Errorf("holds numbers of type %s, which are no heights", kind.Name())
	}
	t.Type = kind.Name()
	if kind == raw.Byte {
		t.note("Its heights are whole numbers from 0 to 255, as in a picture: is it a raster of heights?")
	}
	t.heights = heights{band: b, scale: 1}
	if v, ok := b.NoDataValue(); ok {
		t.noData = &v
	} else if flags := b.GetMaskFlags(); flags&(raw.GMF_ALL_VALID|raw.GMF_NODATA) == 0 {
		m := b.GetMaskBand()
		t.mask = &m
	}
	if v, ok := b.GetScale(); ok && v != 0 {
		t.scale = v
	}
	if v, ok := b.GetOffset(); ok {
		t.offset = v
	}
	if !finite(t.scale) || !finite(t.offset) {
		return fmt.Errorf("its numbers are to be multiplied by %v and raised by %v, which are no heights", t.scale, t.offset)
	}
	return nil
}

// place finds where the raster lies.
func (t *terrainFile) place(f terrainFormat, opt TerrainOptions) error {
	name := shown(t.Path)
	var given CRS
	if strings.TrimSpace(opt.CRS) != "" {
		var err error
		if given, err = parseCRS(opt.CRS); err != nil {
			return fmt.Errorf("%s: terrain.crs: %w", name, err)
		}
	}
	info := &ImageInfo{Path: t.Path, Format: f.name, Width: t.Width, Height: t.Height}
	if err := locate(t.ds, info, f.format, OpenOptions{CRS: given}); err != nil {
		return err
	}
	switch {
	case !info.Positioned:
		return fmt.Errorf("%s: has no position on the ground: put its world file beside it, or save it as a GeoTIFF", name)
	case info.CRS.IsZero():
		return fmt.Errorf("%s: %w", name, ErrNoCRS)
	}
	t.image, t.CRS, t.PositionFrom, t.LonLat = info, info.CRS, info.PositionFrom, info.LonLat
	if !given.IsZero() && given != info.CRS && !sameCRS(given, info.CRS) {
		t.note("It says itself that it lies in %s; %s is not used.", describe(info.CRS), describe(given))
	}
	return nil
}

func sameCRS(a, b CRS) bool {
	x, err := newSR(a.text)
	if err != nil {
		return false
	}
	defer x.Destroy()
	y, err := newSR(b.text)
	if err != nil {
		return false
	}
	defer y.Destroy()
	return x.IsSame(y)
}

// chooseUnit settles what one of the raster's numbers measures.
func (t *terrainFile) chooseUnit(asked string) error {
	name, size, from := "metre", 1.0, ""
	said := t.band.GetUnitType() // for a GeoTIFF also that of a compound system's vertical part
	if n, u, ok := heightUnit(said); ok {
		name, size, from = n, u, "the file"
	}
	switch asked {
	case "":
		if from == "" && strings.TrimSpace(said) != "" {
			t.note("Its heights are in %q, which is no unit that is known: they are taken as metres; terrain.unit may say otherwise.", brief(said))
			t.MayBeFeet = true
		} else if from == "" && t.inFeet() {
			t.note("Its coordinates are in feet and it does not say in what its heights are: they are taken as metres; if they are feet, set terrain.unit to \"ft\".")
			t.MayBeFeet = true
		}
	case "m", "ft":
		n, u, _ := heightUnit(asked)
		switch {
		case from == "" || size == u:
		case asked == "ft" && size == surveyFoot:
			n, u = name, size // the file says which foot
		default:
			t.note("It says itself that its heights are in units of %s; by the plan's terrain.unit they are taken as %s.", name, map[string]string{"m": "metres", "ft": "feet"}[asked])
		}
		name, size, from = n, u, "the plan"
	default:
		return fmt.Errorf("terrain.unit %q is neither \"m\" nor \"ft\"", brief(asked))
	}
	t.UnitName, t.Unit, t.UnitFrom = name, size, from
	return nil
}

// inFeet reports whether the horizontal coordinates are in some foot.
func (t *terrainFile) inFeet() bool {
	sr, err := newSR(t.CRS.text)
	if err != nil {
		return false
	}
	defer sr.Destroy()
	u := unitOf(sr, "PROJCS")
	return u > 0.304 && u < 0.306
}

// unitOf returns the unit of a system's coordinates in metres (PROJCS) or
// radians (GEOGCS), 0 where it has none of that kind. (The binding's LinearUnits
// and AngularUnits free what is not theirs.)
func unitOf(sr raw.SpatialReference, part string) float64 {
	s, _ := sr.AttrValue(part+"|UNIT", 1)
	u, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return 0
	}
	return u
}

// heightUnit reads a name of a unit of height as files write it.
func heightUnit(said string) (name string, metres float64, ok bool) {
	key := strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' || r == '_' || r == '.' {
			return -1
		}
		return r
	}, strings.ToLower(said))
	switch key {
	case "m", "metre", "meter", "metres", "meters":
		return "metre", 1, true
	case "ft", "foot", "feet", "internationalfoot", "internationalfeet", "intft", "ifoot":
		return "foot", internationalFoot, true
	case "usft", "ftus", "ussurveyfoot", "ussurveyfeet", "footus", "surveyfoot", "surveyfeet", "ussfoot", "sfoot":
		return "US survey foot", surveyFoot, true
	case "cm", "centimetre", "centimeter", "centimetres", "centimeters":
		return "centimetre", 0.01, true
	case "dm", "decimetre", "decimeter", "decimetres", "decimeters":
		return "decimetre", 0.1, true
	case "mm", "millimetre", "millimeter", "millimetres", "millimeters":
		return "millimetre", 0.001, true
	}
	return "", 0, false
}

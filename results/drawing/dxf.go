package drawing

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf16"
)

// Layers of the DXF file, by purpose, with their colour number.
const (
	LayerOuter     = "CUT_OUTER"      // the outer contour, cut last
	LayerInner     = "CUT_INNER"      // one closed contour per opening
	LayerWire      = "WIRE_PATH"      // the wire's centre, when asked for
	LayerStart     = "START_HOLES"    // to thread the wire, one per opening
	LayerMounting  = "MOUNTING_HOLES" // in the frame
	LayerPayload   = "PAYLOAD_HOLES"  // in the stage
	LayerText      = "TEXT"           // names of bodies and blades, what the plate is
	LayerDisplaced = "DISPLACED"      // bodies and blades at a position; not to be cut
)

var layers = []struct {
	name   string
	colour int
}{
	{"0", 7}, {LayerOuter, 7}, {LayerInner, 5}, {LayerWire, 1}, {LayerStart, 3},
	{LayerMounting, 6}, {LayerPayload, 4}, {LayerText, 2}, {LayerDisplaced, 8},
}

// WriteDXF writes the drawing as a DXF file of version AC1015 in
// millimetres: closed polylines with true arcs, circles and text, on the layers
// above. With poses in the sheet the displaced parts are drawn on a layer of their
// own. The same plate and sheet give the same bytes.
func (p *Plate) WriteDXF(w io.Writer, sheet Sheet) error {
	b := bufio.NewWriter(w)
	d := &dxf{w: b}
	d.head(p)
	d.section("ENTITIES")
	for i, c := range p.Contours {
		layer := LayerInner
		if i == 0 {
			layer = LayerOuter
		}
		d.polyline(layer, c)
	}
	for _, c := range p.Wire {
		d.polyline(LayerWire, c)
	}
	for _, h := range p.StartHoles {
		d.circle(LayerStart, h)
	}
	for _, h := range p.MountingHoles {
		d.circle(LayerMounting, h)
	}
	for _, h := range p.PayloadHoles {
		d.circle(LayerPayload, h)
	}
	p.lettering(d, sheet)
	if displaced := sheet.Displaced; displaced != nil {
		for i, c := range p.BodiesAt(displaced) {
			if i < len(p.Bodies) && i != p.ground() {
				d.polyline(LayerDisplaced, c)
			}
		}
		for e := range p.Blades {
			d.polyline(LayerDisplaced, p.BladeAt(e, displaced))
		}
	}
	d.pair(0, "ENDSEC")
	d.objects()
	d.pair(0, "EOF")
	return b.Flush()
}

// dxf writes group codes and values. Errors stay in the buffered writer.
type dxf struct {
	w      *bufio.Writer
	handle int
}

// Handles of the fixed parts of the file, in hexadecimal; entities count from firstEntity.
const (
	handleBlockRecords = "1"
	handleModelRecord  = "2"
	handlePaperRecord  = "3"
	handleRoot         = "4"
	handleGroups       = "5"
	firstEntity        = 0x100
	lastHandle         = "FFFFF" // the next free handle, beyond anything written
)

func (d *dxf) pair(code int, value string) { fmt.Fprintf(d.w, "%3d\n%s\n", code, value) }

func (d *dxf) whole(code, value int) { d.pair(code, strconv.Itoa(value)) }

// length writes metres as millimetres.
func (d *dxf) length(code int, metres float64) { d.number(code, metres*1e3) }

// number writes twelve decimals: in millimetres, far below rounding.
func (d *dxf) number(code int, v float64) {
	if math.Abs(v) < 5e-13 {
		v = 0 // no minus sign on nothing
	}
	d.pair(code, strconv.FormatFloat(v, 'f', 12, 64))
}

func (d *dxf) section(name string) {
	d.pair(0, "SECTION")
	d.pair(2, name)
}

func (d *dxf) next() string {
	d.handle++
	return strconv.FormatInt(int64(firstEntity+d.handle), 16)
}

// head writes header, tables and blocks.
func (d *dxf) head(p *Plate) {
	d.section("HEADER")
	d.pair(9, "$ACADVER")
	d.pair(1, "AC1015")
	d.pair(9, "$DWGCODEPAGE")
	d.pair(3, "ANSI_1252")
	d.pair(9, "$HANDSEED")
	d.pair(5, lastHandle)
	d.pair(9, "$INSUNITS")
	d.whole(70, 4) // millimetres
	d.pair(9, "$MEASUREMENT")
	d.whole(70, 1) // metric
	for _, e := range []struct {
		name string
		x, y float64
	}{{"$EXTMIN", p.X0, p.Y0}, {"$EXTMAX", p.X1, p.Y1}} {
		d.pair(9, e.name)
		d.length(10, e.x)
		d.length(20, e.y)
		d.number(30, 0)
	}
	d.pair(0, "ENDSEC")

	d.section("TABLES")
	table := func(name, handle string, entries int) {
		d.pair(0, "TABLE")
		d.pair(2, name)
		d.pair(5, handle)
		d.pair(330, "0")
		d.pair(100, "AcDbSymbolTable")
		d.whole(70, entries)
	}
	record := func(kind, handle, owner, class, name string) {
		d.pair(0, kind)
		code := 5
		if kind == "DIMSTYLE" {
			code = 105
		}
		d.pair(code, handle)
		d.pair(330, owner)
		d.pair(100, "AcDbSymbolTableRecord")
		d.pair(100, class)
		d.pair(2, name)
	}
	end := func() { d.pair(0, "ENDTAB") }

	table("VPORT", "10", 1)
	record("VPORT", "11", "10", "AcDbViewportTableRecord", "*Active")
	d.whole(70, 0)
	for _, c := range []struct {
		code int
		v    float64
	}{{10, 0}, {20, 0}, {11, 1}, {21, 1}, {12, (p.X0 + p.X1) / 2 * 1e3}, {22, (p.Y0 + p.Y1) / 2 * 1e3}, {40, 1.2 * p.size() * 1e3}, {41, 1.4}} {
		d.number(c.code, c.v)
	}
	end()
	table("LTYPE", "12", 3)
	for i, name := range []string{"ByBlock", "ByLayer", "Continuous"} {
		record("LTYPE", strconv.FormatInt(int64(0x13+i), 16), "12", "AcDbLinetypeTableRecord", name)
		d.whole(70, 0)
		d.pair(3, "")
		d.whole(72, 65)
		d.whole(73, 0)
		d.number(40, 0)
	}
	end()
	table("LAYER", "20", len(layers))
	for i, l := range layers {
		record("LAYER", strconv.FormatInt(int64(0x21+i), 16), "20", "AcDbLayerTableRecord", l.name)
		d.whole(70, 0)
		d.whole(62, l.colour)
		d.pair(6, "Continuous")
	}
	end()
	table("STYLE", "30", 1)
	record("STYLE", "31", "30", "AcDbTextStyleTableRecord", "Standard")
	d.whole(70, 0)
	d.number(40, 0)
	d.number(41, 1)
	d.number(50, 0)
	d.whole(71, 0)
	d.number(42, 2.5)
	d.pair(3, "txt")
	d.pair(4, "")
	end()
	for i, name := range []string{"VIEW", "UCS"} {
		table(name, strconv.FormatInt(int64(0x32+i), 16), 0)
		end()
	}
	table("APPID", "34", 1)
	record("APPID", "35", "34", "AcDbRegAppTableRecord", "ACAD")
	d.whole(70, 0)
	end()
	table("DIMSTYLE", "36", 1)
	d.pair(100, "AcDbDimStyleTable")
	record("DIMSTYLE", "37", "36", "AcDbDimStyleTableRecord", "Standard")
	d.whole(70, 0)
	end()
	table("BLOCK_RECORD", handleBlockRecords, 2)
	record("BLOCK_RECORD", handleModelRecord, handleBlockRecords, "AcDbBlockTableRecord", "*Model_Space")
	record("BLOCK_RECORD", handlePaperRecord, handleBlockRecords, "AcDbBlockTableRecord", "*Paper_Space")
	end()
	d.pair(0, "ENDSEC")

	d.section("BLOCKS")
	for i, name := range []string{"*Model_Space", "*Paper_Space"} {
		owner := []string{handleModelRecord, handlePaperRecord}[i]
		d.pair(0, "BLOCK")
		d.pair(5, strconv.FormatInt(int64(0x40+2*i), 16))
		d.pair(330, owner)
		d.pair(100, "AcDbEntity")
		d.pair(8, "0")
		d.pair(100, "AcDbBlockBegin")
		d.pair(2, name)
		d.whole(70, 0)
		d.number(10, 0)
		d.number(20, 0)
		d.number(30, 0)
		d.pair(3, name)
		d.pair(1, "")
		d.pair(0, "ENDBLK")
		d.pair(5, strconv.FormatInt(int64(0x41+2*i), 16))
		d.pair(330, owner)
		d.pair(100, "AcDbEntity")
		d.pair(8, "0")
		d.pair(100, "AcDbBlockEnd")
	}
	d.pair(0, "ENDSEC")
}

func (d *dxf) entity(kind, layer string) {
	d.pair(0, kind)
	d.pair(5, d.next())
	d.pair(330, handleModelRecord)
	d.pair(100, "AcDbEntity")
	d.pair(8, layer)
}

func (d *dxf) polyline(layer string, c Contour) {
	d.entity("LWPOLYLINE", layer)
	d.pair(100, "AcDbPolyline")
	d.whole(90, len(c))
	d.whole(70, 1) // closed
	for _, v := range c {
		d.length(10, v.X)
		d.length(20, v.Y)
		if v.Bulge != 0 {
			d.number(42, v.Bulge)
		}
	}
}

func (d *dxf) circle(layer string, h Circle) {
	d.entity("CIRCLE", layer)
	d.pair(100, "AcDbCircle")
	d.length(10, h.X)
	d.length(20, h.Y)
	d.number(30, 0)
	d.length(40, h.Radius)
}

// text writes one line, its middle at (x, y), along x or, upright, along y.
func (d *dxf) text(x, y, height float64, upright bool, text string) {
	d.entity("TEXT", LayerText)
	d.pair(100, "AcDbText")
	d.length(10, x)
	d.length(20, y)
	d.number(30, 0)
	d.length(40, height)
	d.pair(1, dxfText(text))
	if upright {
		d.number(50, 90)
	}
	d.whole(72, 1) // centred
	d.length(11, x)
	d.length(21, y)
	d.number(31, 0)
	d.pair(100, "AcDbText")
	d.whole(73, 2) // about the middle of its height
}

// dxfText writes what is not ASCII as the format has it.
func dxfText(text string) string {
	var b strings.Builder
	for _, u := range utf16.Encode([]rune(text)) {
		if u >= ' ' && u <= '~' {
			b.WriteByte(byte(u))
		} else {
			fmt.Fprintf(&b, `\U+%04X`, u)
		}
	}
	return b.String()
}

// lettering writes the names of bodies and blades where the sheet has them, and
// what the plate is below it.
func (p *Plate) lettering(d *dxf, sheet Sheet) {
	k := p.size() / 260e-3
	for i, b := range p.Topology.Bodies {
		x, y, upright := p.label(i)
		d.text(x, y, 3e-3*k, upright, b.Name)
	}
	for e := range p.Blades {
		x, y, upright := p.bladeLabel(e)
		place, _ := p.Topology.BladePlace(e)
		d.text(x, y, 2e-3*k, upright, strconv.Itoa(place))
	}
	line := 0.0
	for _, text := range append(wrap(strings.TrimSpace(sheet.Title+" design "+sheet.Design), 90),
		fmt.Sprintf("%s, %s, thickness %s mm, %s kg", sheet.Layout, sheet.Material, trim(p.Depth*1e3, 3), trim(p.Mass(), 3))) {
		d.text((p.X0+p.X1)/2, p.Y0-(6+6*line)*1e-3*k, 4e-3*k, false, text)
		line++
	}
}

// objects writes the root dictionary, which every reader asks for.
func (d *dxf) objects() {
	d.section("OBJECTS")
	d.pair(0, "DICTIONARY")
	d.pair(5, handleRoot)
	d.pair(330, "0")
	d.pair(100, "AcDbDictionary")
	d.whole(281, 1)
	d.pair(3, "ACAD_GROUP")
	d.pair(350, handleGroups)
	d.pair(0, "DICTIONARY")
	d.pair(5, handleGroups)
	d.pair(330, handleRoot)
	d.pair(100, "AcDbDictionary")
	d.whole(281, 1)
	d.pair(0, "ENDSEC")
}

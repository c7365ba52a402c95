package layer

// Table is one schedule.
type Table struct {
	Name    string // short and unique among tables
	Title   string
	Columns []Column
	Rows    [][]any // string, float64, int, bool, or nil for what is not known; one a column
}

// Column is one column of a table.
type Column struct {
	Head     string // with its unit
	Decimals int    // shown of a number in a spreadsheet; values are kept in full
}

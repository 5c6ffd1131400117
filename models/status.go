package models

// Status is the outcome of the evaluation of one candidate, or of one pose of
// it. A larger value is worse: the worst of the parts is the status of the whole.
type Status uint8

const (
	Solved        Status = iota // every number asked for was computed
	Screened                    // a cheap limit failed, later stages were skipped
	OutOfRange                  // outside the validity of the blade model
	Buckled                     // unstable with constant actuator forces
	NoConvergence               // the equilibrium iteration did not settle
	CannotBuild                 // the dimensions contradict each other
	Failed                      // a fault of this program
	numStatus
)

var statusNames = [numStatus]string{
	"solved", "screened", "out_of_range", "buckled", "no_convergence", "cannot_build", "failed",
}

var statusMeanings = [numStatus]string{
	"everything asked for was computed; only these can be feasible",
	"a limit on a cheap measure fails, so that later ones were not computed: null",
	"a blade bends or is loaded beyond the range of its model",
	"unstable under constant actuator forces at some position",
	"the equilibrium at some position was not found",
	"the dimensions contradict each other; the reason names the inequality",
	"a fault of this program; what happened stands in log.txt",
}

// Meaning of the status for who reads a table.
func (s Status) Meaning() string { return statusMeanings[s] }

// Statuses returns all of them, best first.
func Statuses() []Status {
	list := make([]Status, numStatus)
	for i := range list {
		list[i] = Status(i)
	}
	return list
}

// String returns the word used in files and tables.
func (s Status) String() string {
	if s >= numStatus {
		panic("models: unknown status")
	}
	return statusNames[s]
}

// ParseStatus is the inverse of [Status.String].
func ParseStatus(text string) (Status, bool) {
	for i, name := range statusNames {
		if name == text {
			return Status(i), true
		}
	}
	return 0, false
}

// Verdict is a status with its reason. It is plain data, so that the
// evaluation of a candidate formats nothing; Reason makes the sentence.
type Verdict struct {
	Status Status
	// Format is a constant with verbs for Index, Value and Bound in that order,
	// by explicit argument index: %[1]d, %[2]g, %[3]g. Empty when solved.
	Format string
	Index  int // a blade, a body or a pose, by number
	// Blades, where Index is a blade: the topology that names it. %[1] is then a text.
	Blades *Topology
	Value  float64 // what was found
	Bound  float64 // what it had to respect
}

// OK reports whether everything was computed.
func (v Verdict) OK() bool { return v.Status == Solved }

// Worse returns the verdict with the worse status, v when they are equal.
func (v Verdict) Worse(w Verdict) Verdict {
	if w.Status > v.Status {
		return w
	}
	return v
}

// OK reports whether everything was computed.
func (s Status) OK() bool { return s == Solved }

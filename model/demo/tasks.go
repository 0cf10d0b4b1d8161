package demo

import "example.org/headpond/model/record"

// dayTask is an upkeep task by days: done so many days before the story's end, and every so many days before that.
type dayTask struct {
	task  string
	every int
	last  int // days before the end
	by    string
	note  string

	next int // the day on which it is done next, or at the first morning's round after it
}

// dayTasks are the plant file's tasks by days. The relay's test is left until it is due.
func dayTasks() []dayTask {
	list := []dayTask{
		{task: "walk the penstock and look for leaks", every: 14, last: 5, by: tam, note: "dry all the way"},
		{task: "clean the vents of the ballast housing", every: 30, last: 11, by: ro},
		{task: "move the main valve and the bypass gate through their travel", every: 60, last: 33, by: ro, note: "the gate is stiff, greased its stem"},
		{task: "test the protection relay's trips", every: 90, last: 84, by: imke, note: "with the electrician: all four trips within their settings"},
	}
	for i := range list {
		list[i].next = (days - list[i].last) % list[i].every
	}
	return list
}

// The greasing of the bearings, by running hours. The large set's is forgotten in the end.
const (
	greaseEvery    = 475.0 // a little early: a morning's round comes once a day
	forgottenAfter = 96    // day
)

func greaseTask(id string) string { return "grease drive-end bearing, unit " + id }

// upkeep does after a morning's round what is due.
func (t *teller) upkeep(v *visit) {
	if !v.morning || v.last {
		return
	}
	for i := range t.tasks {
		if d := &t.tasks[i]; v.day >= d.next && d.next <= days-d.last {
			t.done(v, 40, record.Done{Task: d.task, By: d.by, Note: d.note})
			d.next += d.every
		}
	}
	for _, id := range t.plant.UnitIDs() {
		if id == large && v.day > forgottenAfter || t.quiet {
			continue
		}
		if t.works.hours[id]-t.greased[id] > greaseEvery {
			t.greased[id] = t.works.hours[id]
			t.done(v, 20, record.Done{Task: greaseTask(id), By: v.by})
		}
	}
}

func (t *teller) done(v *visit, minutesLater float64, d record.Done) {
	d.Time = t.cal.time(v.at + minutesLater*60)
	d.WrittenAt = t.cal.time(v.at + (minutesLater+5)*60)
	t.story.Done = append(t.story.Done, d)
}

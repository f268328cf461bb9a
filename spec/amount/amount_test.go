package amount

import (
	"slices"
	"strconv"
	"testing"
)

func TestSome(t *testing.T) {
	var list []int
	for i := range 100 {
		list = append(list, i)
	}
	t.Setenv("TRAMMEL_TESTS", "")
	some := Some(list, 8, strconv.Itoa)
	slices.Sort(some)
	if len(some) != 13 || some[0] > 40 || some[12] < 60 {
		t.Errorf("%v is no sample", some)
	}
	if Of(10, 3) != 3 || len(Some(list[:1], 8, strconv.Itoa)) != 1 || len(Some(list[:0], 8, strconv.Itoa)) != 0 {
		t.Error("the sample is of another size")
	}
	t.Setenv("TRAMMEL_TESTS", "all")
	if Of(10, 3) != 10 || !slices.Equal(Some(list, 8, strconv.Itoa), list) {
		t.Error("not everything is tried")
	}
}

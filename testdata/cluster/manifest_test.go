// Package cluster holds the manifest of the page about several computers against the
// published types of the API that it is written for. It is a module of its own, so that
// those types are no dependency of the program; `make cluster` runs it.
package cluster

import (
	"bytes"
	"os"
	"regexp"
	"strings"
	"testing"

	batch "k8s.io/api/batch/v1"
	core "k8s.io/api/core/v1"
	"sigs.k8s.io/yaml"
)

func manifest(t *testing.T) []byte {
	t.Helper()
	page, err := os.ReadFile("../../docs/many-machines.md")
	if err != nil {
		t.Fatal(err)
	}
	_, text, found := bytes.Cut(page, []byte("```yaml\n"))
	text, _, closed := bytes.Cut(text, []byte("```\n"))
	if !found || !closed {
		t.Fatal("the page has no manifest")
	}
	return text
}

// faults are what a cluster would refuse: fields and types that the API does not have, and
// what it requires of an indexed Job.
func faults(text []byte) (out []string) {
	var job batch.Job
	if err := yaml.UnmarshalStrict(text, &job); err != nil {
		return []string{err.Error()}
	}
	must := func(ok bool, what string) {
		if !ok {
			out = append(out, what)
		}
	}
	s, pod := &job.Spec, &job.Spec.Template.Spec
	must(job.APIVersion == batch.SchemeGroupVersion.String() && job.Kind == "Job", "it is no Job of "+batch.SchemeGroupVersion.String())
	must(regexp.MustCompile(`^[a-z0-9]([-a-z0-9]{0,61}[a-z0-9])?$`).MatchString(job.Name), "metadata.name is no label of RFC 1123")
	must(s.CompletionMode != nil && *s.CompletionMode == batch.IndexedCompletion, "completionMode is not Indexed")
	must(s.Completions != nil && *s.Completions > 0 && s.Parallelism != nil && *s.Parallelism > 0, "an indexed Job needs completions and parallelism")
	must(s.BackoffLimit == nil || *s.BackoffLimit >= 0, "backoffLimit is below 0")
	must(pod.RestartPolicy == core.RestartPolicyNever || pod.RestartPolicy == core.RestartPolicyOnFailure, "restartPolicy is neither Never nor OnFailure")
	must(len(pod.Containers) > 0, "there is no container")
	volumes := map[string]bool{}
	for _, v := range pod.Volumes {
		must(!volumes[v.Name] && v.Name != "", "a volume's name is missing or not its own")
		volumes[v.Name] = true
		must(v.PersistentVolumeClaim == nil || v.PersistentVolumeClaim.ClaimName != "", "a claim has no name")
	}
	for _, c := range pod.Containers {
		must(c.Name != "" && c.Image != "", "a container has no name or no image")
		for _, m := range c.VolumeMounts {
			must(volumes[m.Name] && strings.HasPrefix(m.MountPath, "/"), "nothing is mounted at "+m.MountPath)
		}
		for name, need := range c.Resources.Requests {
			most, limited := c.Resources.Limits[name]
			must(!limited || need.Cmp(most) <= 0, "more "+string(name)+" is requested than permitted")
		}
	}
	return out
}

func TestManifest(t *testing.T) {
	text := manifest(t)
	for _, f := range faults(text) {
		t.Error(f)
	}
	// What is wrong is noticed.
	for was, is := range map[string]string{
		"completionMode: Indexed": "completionsMode: Indexed", "completions: 8": `completions: "8"`, "  parallelism: 8\n": "", "512Mi": "512 MB", "requests: {cpu: \"1\", memory: 512Mi}": "requests: {memory: 2Gi}",
		"restartPolicy: Never": "restartPolicy: Always", "volumeMounts:\n            - {name: fleet,": "volumeMounts:\n            - {name: other,", "kind: Job": "kind: Jobs", "batch/v1": "batch/v2", "name: trammel-check": "name: Trammel",
	} {
		if bad := bytes.Replace(text, []byte(was), []byte(is), 1); bytes.Equal(bad, text) || len(faults(bad)) == 0 {
			t.Errorf("%q in place of %q is not noticed", is, was)
		}
	}
}

// Package schema holds the JSON Schemas of what Pintle hands over.
package schema

import _ "embed"

//go:embed joint-spec.schema.json
var jointSpec []byte

// JointSpecID is the $id of the joint spec's schema.
const JointSpecID = "urn:pintle:joint-spec:1"

// JointSpec returns the JSON Schema (draft 2020-12) of the joint spec. The
// slice is shared: callers must not modify it.
func JointSpec() []byte { return jointSpec }

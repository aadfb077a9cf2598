package mesh

// quadPairs says which triangles form quads together.
type quadPairs struct{}

func pairTriangles(*Topology) *quadPairs { return &quadPairs{} }

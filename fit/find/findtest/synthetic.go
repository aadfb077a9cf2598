package findtest

// Kinds lists what Made makes.
func Kinds() []string {
	return []string{"arm", "scara", "hand", "head", "four-bar", "quadruped", "biped", "rover", "lamp", "gantry", "gripper", "spindle", "boom", "gear"}
}

// Made is a mechanism of a kind of the trade, its numbers and forms drawn by the
// seed. It is made of shells that overlap, as exported assemblies are. An
// unknown kind panics.
func Made(kind string, seed uint64) Mechanism {
	switch kind {
	case "arm":
		return Arm(seed)
	case "scara":
		return Scara(seed)
	case "hand":
		return Hand(seed)
	case "head":
		return Head(seed)
	case "four-bar":
		return FourBar(seed)
	case "quadruped":
		return Quadruped(seed)
	case "biped":
		return Biped(seed)
	case "rover":
		return Rover(seed)
	case "lamp":
		return Lamp(seed)
	case "gantry":
		return Gantry(seed)
	case "gripper":
		return Gripper(seed)
	case "spindle":
		return Spindle(seed)
	case "boom":
		return Boom(seed)
	case "gear":
		return Gear(seed)
	}
	panic("findtest: no mechanism of the kind " + kind)
}

// Trade is a mix of n times eight mechanisms as they are met: for every
// slide or ball joint there are many hinges of arms, hands and legs.
func Trade(n int) []Mechanism {
	often := []string{"arm", "arm", "hand", "quadruped", "biped", "head", "rover"}
	rare := []string{"scara", "four-bar", "lamp", "gripper", "boom", "gear", "gantry", "spindle"}
	var out []Mechanism
	for i := range n {
		for k, kind := range often {
			out = append(out, filed(Made(kind, uint64(100*i+k)), uint64(100*i+k)))
		}
		out = append(out, filed(Made(rare[i%len(rare)], uint64(100*i)), uint64(100*i)))
	}
	return out
}

// filed is a mechanism as some program stored it: rounded, re-cut, thinned or
// as it is.
func filed(m Mechanism, seed uint64) Mechanism {
	r := source(seed, 12)
	if r.Float64() < 0.15 {
		m = Retriangulated(m, 0.2, false, seed)
	}
	if r.Float64() < 0.15 {
		m = Decimated(m, 0.5+0.4*r.Float64())
	}
	return Stored(m, []float64{1e-9, 1e-8, 1e-7, 1e-6}[r.IntN(4)])
}

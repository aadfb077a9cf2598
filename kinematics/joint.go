package kinematics

// Kind names how a joint lets its child part move.
type Kind string

// The joint kinds, with the motion they allow relative to the joint frame.
const (
	Fixed     Kind = "fixed"
	Revolute  Kind = "revolute"  // turns about Hinge
	Prismatic Kind = "prismatic" // slides along Hinge
)

// Range is a closed interval of joint values: radians for a revolute joint,
// model units for a prismatic one. Zero is the pose as modelled.
type Range struct {
	Lower, Upper float64
}

// Joint lets a child part move against its parent. Parts are indexes into
// the model's parts; Parent is -1 for the world.
type Joint struct {
	Name   string
	Kind   Kind
	Parent int
	Child  int
	Frame  Frame
	Limits *Range // nil: not limited
}

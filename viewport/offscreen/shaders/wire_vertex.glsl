// Polygon edges as plain one-pixel lines.
layout(location = 0) in vec3 VertexPosition;

uniform mat4 ModelViewMatrix;
uniform mat4 Projection;
uniform vec4 Pen;  // z: bias, w: 1 for perspective

void main() {
    vec4 v = ModelViewMatrix * vec4(VertexPosition, 1.0);
    if (Pen.w > 0.5) v.xyz *= 1.0 - Pen.z / max(length(v.xyz), Pen.z * 2.0);
    else v.z += Pen.z;
    gl_Position = Projection * v;
}

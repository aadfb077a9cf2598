// Ink lines: each edge is a quad that is widened here to a constant number of
// pixels, so no driver's line width is needed. An edge that bounds what is
// seen of its part gets the wide pen, a crease between two visible faces the
// narrow one, and an edge wholly on the far side none.
layout(location = 0) in vec3 VertexPosition;  // this end
layout(location = 1) in vec3 Other;           // the other end
layout(location = 2) in vec3 NormalA;         // of one face
layout(location = 3) in vec3 NormalB;         // of the other; zero: there is none
// x: side, -1 or 1; y: end, 0 or 1, plus 2 if concave; z: length run along the
// chain of edges so far; w: its whole length, 0 if there is no chain
layout(location = 4) in vec4 Corner;

uniform mat4 ModelViewMatrix;
uniform mat4 Projection;
uniform vec4 Pen;     // half widths of contour and crease in pixels, bias, 1 for perspective
uniform vec4 Dash;    // z: pixels per model unit
uniform vec4 Screen;  // width and height in pixels, near plane, keep far side if 1

noperspective out vec2 local;  // along and across the edge, pixels
flat out float extent;         // length of the edge, pixels
flat out float halfWidth;
noperspective out float run;   // length along the chain of edges, pixels

vec4 toward(vec4 v) {
    // Lift the line off its own faces along the line of sight.
    if (Pen.w > 0.5) return vec4(v.xyz * (1.0 - Pen.z / max(length(v.xyz), Pen.z * 2.0)), 1.0);
    return vec4(v.xy, v.z + Pen.z, 1.0);
}

void main() {
    vec4 here = ModelViewMatrix * vec4(VertexPosition, 1.0);
    vec4 there = ModelViewMatrix * vec4(Other, 1.0);
    vec3 mid = 0.5 * (here.xyz + there.xyz);
    vec3 sight = Pen.w > 0.5 ? -mid : vec3(0.0, 0.0, 1.0);
    mat3 turn = mat3(ModelViewMatrix);
    bool a = dot(turn * NormalA, sight) > 0.0;
    bool b = dot(turn * NormalB, sight) > 0.0;
    bool open = dot(NormalB, NormalB) == 0.0;
    bool concave = Corner.y > 1.5;
    float end = concave ? Corner.y - 2.0 : Corner.y;
    halfWidth = (open || (a != b && !concave)) ? Pen.x : Pen.y;
    // Small detail is drawn with a finer pen, or engraved letters would clot.
    if (Corner.w > 0.0) halfWidth *= clamp(Corner.w * Dash.z / 90.0, 0.42, 1.0);
    bool far = !open && !a && !b && Screen.w < 0.5;

    if (Pen.w > 0.5) {
        float limit = -Screen.z * 1.001;
        if (here.z > limit && there.z > limit) far = true;
        else if (here.z > limit) here = mix(here, there, (limit - here.z) / (there.z - here.z));
        else if (there.z > limit) there = mix(there, here, (limit - there.z) / (here.z - there.z));
    }
    vec4 p = Projection * toward(here);
    vec4 q = Projection * toward(there);
    vec2 scale = 0.5 * Screen.xy;
    vec2 s = p.xy / p.w * scale;
    vec2 t = q.xy / q.w * scale;
    vec2 d = t - s;
    extent = length(d);
    d = extent > 1e-6 ? d / extent : vec2(1.0, 0.0);
    float grow = halfWidth + 1.0;
    // Both ends must agree about what is left and right.
    float side = end < 0.5 ? Corner.x : -Corner.x;
    vec2 out2 = vec2(-d.y, d.x) * side * grow - d * grow;
    local = vec2(-grow, Corner.x * grow);
    run = Corner.z * Dash.z;
    if (end > 0.5) local.x = extent + grow;
    gl_Position = far || halfWidth <= 0.0 ? vec4(2.0, 2.0, 2.0, 1.0)
        : vec4((s + out2) / scale * p.w, p.z, p.w);
}

// Two soft tones, as a wash of water colour would give: a broad light side, a
// quiet shade side, and little in between.
precision highp float;

in vec3 normal;

uniform vec4 Fill;
uniform vec4 Shade;  // rgb of the shade, a: how much of it
uniform vec3 Light;  // direction to the light in view space, unit

out vec4 FragColor;

void main() {
    float len = length(normal);
    vec3 n = len > 0.0 ? normal / len : vec3(0.0, 0.0, 1.0);
    if (!gl_FrontFacing) n = -n;
    float lit = dot(n, Light);
    float band = smoothstep(0.12, 0.52, lit);
    float soft = clamp(0.5 + 0.5 * lit, 0.0, 1.0);
    float dark = Shade.a * (1.0 - 0.68 * band - 0.32 * soft);
    vec3 c = mix(Fill.rgb, Shade.rgb, dark);
    // The inside of an open surface is toned down evenly.
    if (!gl_FrontFacing) c = mix(c, Shade.rgb, 0.18);
    FragColor = vec4(c, Fill.a);
}

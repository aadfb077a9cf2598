// Coverage by distance from the edge: round ends, edges soft over one pixel.
precision highp float;

noperspective in vec2 local;
flat in float extent;
flat in float halfWidth;
noperspective in float run;

uniform vec4 Fill;
uniform vec4 Dash;  // period and drawn part in pixels; 0: drawn through

out vec4 FragColor;

void main() {
    float past = max(max(-local.x, local.x - extent), 0.0);
    float d = length(vec2(past, local.y));
    float cover = clamp(halfWidth + 0.5 - d, 0.0, 1.0);
    if (halfWidth < 0.5) cover *= 2.0 * halfWidth;
    if (Dash.x > 0.0) {
        // The pattern is fixed to the chain of edges, so it does not swim.
        float in_period = mod(run, Dash.x);
        cover *= clamp(min(in_period, Dash.y - in_period) + 0.5, 0.0, 1.0);
    }
    if (cover < 0.02) discard;
    FragColor = vec4(Fill.rgb, Fill.a * cover);
}

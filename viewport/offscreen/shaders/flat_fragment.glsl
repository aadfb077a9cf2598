precision highp float;

uniform vec4 Fill;

out vec4 FragColor;

void main() {
    FragColor = Fill;
}

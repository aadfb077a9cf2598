// Faces: normals shared within a smooth patch, never across a feature edge.
layout(location = 0) in vec3 VertexPosition;
layout(location = 1) in vec3 VertexNormal;

uniform mat4 ModelViewMatrix;
uniform mat4 MVP;

out vec3 normal;

void main() {
    normal = mat3(ModelViewMatrix) * VertexNormal;
    gl_Position = MVP * vec4(VertexPosition, 1.0);
}

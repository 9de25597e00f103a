//! Vectors in space and unit quaternions, as plain arrays; a quaternion has its scalar part first.

/// A vector.
pub(crate) type Vec3 = [f64; 3];
/// A quaternion, scalar part first.
pub(crate) type Quat = [f64; 4];

#[inline(always)]
pub(crate) fn dot(a: Vec3, b: Vec3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

#[inline(always)]
pub(crate) fn cross(a: Vec3, b: Vec3) -> Vec3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

#[inline(always)]
pub(crate) fn norm(a: Vec3) -> f64 {
    dot(a, a).sqrt()
}

#[inline(always)]
pub(crate) fn add(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

#[inline(always)]
pub(crate) fn sub(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

#[inline(always)]
pub(crate) fn scale(a: Vec3, factor: f64) -> Vec3 {
    [a[0] * factor, a[1] * factor, a[2] * factor]
}

#[inline(always)]
pub(crate) fn dot4(a: Quat, b: Quat) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3]
}

/// The product p∘q.
#[inline(always)]
pub(crate) fn product(p: Quat, q: Quat) -> Quat {
    [
        p[0] * q[0] - p[1] * q[1] - p[2] * q[2] - p[3] * q[3],
        p[0] * q[1] + p[1] * q[0] + p[2] * q[3] - p[3] * q[2],
        p[0] * q[2] + p[2] * q[0] + p[3] * q[1] - p[1] * q[3],
        p[0] * q[3] + p[3] * q[0] + p[1] * q[2] - p[2] * q[1],
    ]
}

#[inline(always)]
pub(crate) fn conjugate(q: Quat) -> Quat {
    [q[0], -q[1], -q[2], -q[3]]
}

#[inline(always)]
pub(crate) fn unit(q: Quat) -> Quat {
    let factor = 1.0 / dot4(q, q).sqrt();
    q.map(|x| x * factor)
}

/// The axes t, n, b of the frame that the unit quaternion turns the resting axes x, y, z into.
#[inline(always)]
pub(crate) fn axes(q: Quat) -> [Vec3; 3] {
    let [w, x, y, z] = q;
    [
        [1.0 - 2.0 * (y * y + z * z), 2.0 * (x * y + w * z), 2.0 * (x * z - w * y)],
        [2.0 * (x * y - w * z), 1.0 - 2.0 * (x * x + z * z), 2.0 * (y * z + w * x)],
        [2.0 * (x * z + w * y), 2.0 * (y * z - w * x), 1.0 - 2.0 * (x * x + y * y)],
    ]
}

/// Turns q by the rotation vector `turn` about the axes of its own frame.
#[inline(always)]
pub(crate) fn turned(q: Quat, turn: Vec3) -> Quat {
    let half = 0.5 * norm(turn);
    // sin(h)/h to rounding below 1e-4.
    let ratio = if half < 1e-4 { 1.0 - half * half / 6.0 } else { half.sin() / half };
    let s = 0.5 * ratio;
    unit(product(q, [half.cos(), s * turn[0], s * turn[1], s * turn[2]]))
}

/// The rotation by `angle_rad` about z: the frame of a flat ribbon whose tangent has this angle.
#[inline]
pub(crate) fn about_z(angle_rad: f64) -> Quat {
    let (sin, cos) = (0.5 * angle_rad).sin_cos();
    [cos, 0.0, 0.0, sin]
}

/// Components of a vector of space in the frame of `axes`.
#[inline(always)]
pub(crate) fn components(axes: &[Vec3; 3], v: Vec3) -> Vec3 {
    [dot(axes[0], v), dot(axes[1], v), dot(axes[2], v)]
}

/// The vector of space with the components `c` in the frame of `axes`.
#[inline(always)]
pub(crate) fn in_space(axes: &[Vec3; 3], c: Vec3) -> Vec3 {
    std::array::from_fn(|i| axes[0][i] * c[0] + axes[1][i] * c[1] + axes[2][i] * c[2])
}

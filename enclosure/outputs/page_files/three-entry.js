// What viewer.js uses of three.js; bundled by .ci/vendor/refresh into three.bundle.js.
export {
  AmbientLight, BufferAttribute, BufferGeometry, CanvasTexture, Color, CylinderGeometry, DirectionalLight,
  DoubleSide, FrontSide, Group, HemisphereLight, LatheGeometry, LineBasicMaterial, LineSegments, Mesh,
  MeshLambertMaterial, PerspectiveCamera, Plane, PlaneGeometry, Raycaster, Scene, Sprite, SpriteMaterial,
  SRGBColorSpace, Vector2, Vector3, WebGLRenderer,
} from 'three';
export { OrbitControls } from 'three/examples/jsm/controls/OrbitControls.js';

/* Casts rays against a mesh with Embree 3: an independent answer to where a line
   first meets a surface. Input: the number of facets, nine coordinates a facet, then
   six numbers a ray, origin and direction. Output: a line a ray, the distance, or -1.
   Build: cc -O2 rays.c -lembree3 */
#include <embree3/rtcore.h>
#include <math.h>
#include <stdio.h>

int main(void) {
	RTCDevice device = rtcNewDevice(NULL);
	RTCScene scene = rtcNewScene(device);
	RTCGeometry mesh = rtcNewGeometry(device, RTC_GEOMETRY_TYPE_TRIANGLE);
	unsigned n;
	if (scanf("%u", &n) != 1) return 2;
	float *v = rtcSetNewGeometryBuffer(mesh, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 12, 3 * (size_t)n);
	unsigned *f = rtcSetNewGeometryBuffer(mesh, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3, 12, n);
	for (unsigned i = 0; i < 9 * n; i++)
		if (scanf("%f", &v[i]) != 1) return 2;
	for (unsigned i = 0; i < 3 * n; i++) f[i] = i;
	rtcSetSceneFlags(scene, RTC_SCENE_FLAG_ROBUST);
	rtcCommitGeometry(mesh);
	rtcAttachGeometry(scene, mesh);
	rtcCommitScene(scene);
	double r[6];
	while (scanf("%lf %lf %lf %lf %lf %lf", r, r + 1, r + 2, r + 3, r + 4, r + 5) == 6) {
		struct RTCIntersectContext context;
		rtcInitIntersectContext(&context);
		struct RTCRayHit hit = {0};
		hit.ray.org_x = r[0], hit.ray.org_y = r[1], hit.ray.org_z = r[2];
		hit.ray.dir_x = r[3], hit.ray.dir_y = r[4], hit.ray.dir_z = r[5];
		hit.ray.tfar = INFINITY;
		hit.ray.mask = -1;
		hit.hit.geomID = RTC_INVALID_GEOMETRY_ID;
		rtcIntersect1(scene, &context, &hit);
		printf("%.9g\n", hit.hit.geomID == RTC_INVALID_GEOMETRY_ID ? -1.0 : hit.ray.tfar);
	}
	return 0;
}

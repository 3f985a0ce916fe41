/* A sphere shell about the origin as an external geometry of the photon transport library goupil.
 *
 *   cc -O2 -shared -fPIC -DINNER=5.0 -DOUTER=7.0 -I FOLDER_OF_goupil.h -o shell.so shell_geometry.c
 *
 * Sector 0: the bore (next to nothing); sector 1: lead; beyond: outside. Lengths in cm.
 */
#include <math.h>
#include <stdlib.h>

#include "goupil.h"

static size_t one(const struct goupil_material_definition *m) { (void)m; return 1; }
static const struct goupil_weighted_element lead(const struct goupil_material_definition *m, size_t i) {
    (void)m; (void)i;
    struct goupil_weighted_element e = {82, 1.0};
    return e;
}
static const char *name(const struct goupil_material_definition *m) { (void)m; return "Lead"; }
static const struct goupil_material_definition MATERIAL = {one, lead, name};

static void keep(struct goupil_geometry_definition *g) { (void)g; }
static const struct goupil_material_definition *material(const struct goupil_geometry_definition *g, size_t i) {
    (void)g; (void)i; return &MATERIAL;
}
static const struct goupil_geometry_sector sector(const struct goupil_geometry_definition *g, size_t i) {
    (void)g;
    struct goupil_geometry_sector s = {0, i == 0 ? 1e-9 : 11.35, i == 0 ? "bore" : "shell"};
    return s;
}
static size_t materials(const struct goupil_geometry_definition *g) { (void)g; return 1; }
static size_t sectors(const struct goupil_geometry_definition *g) { (void)g; return 2; }
static struct goupil_geometry_definition DEFINITION = {keep, material, sector, materials, sectors};

struct tracer {
    struct goupil_geometry_tracer api;
    struct goupil_float3 at, way;
    size_t here, next;
    double step;
};

static void destroy(struct goupil_geometry_tracer *t) { free(t); }
static struct goupil_float3 position(const struct goupil_geometry_tracer *t) { return ((const struct tracer *)t)->at; }
static size_t where(const struct goupil_geometry_tracer *t) { return ((const struct tracer *)t)->here; }

static void reset(struct goupil_geometry_tracer *t, struct goupil_float3 at, struct goupil_float3 way) {
    struct tracer *s = (struct tracer *)t;
    double r = sqrt(at.x * at.x + at.y * at.y + at.z * at.z);
    s->at = at;
    s->way = way;
    s->here = r < INNER ? 0 : r < OUTER ? 1 : 2;
    s->next = s->here;
    s->step = -1.0;
}

static double trace(struct goupil_geometry_tracer *t, double longest) {
    struct tracer *s = (struct tracer *)t;
    double along = s->at.x * s->way.x + s->at.y * s->way.y + s->at.z * s->way.z;
    double square = s->at.x * s->at.x + s->at.y * s->at.y + s->at.z * s->at.z;
    double inner = along * along - square + INNER * INNER;
    if (s->here == 0) {
        s->step = -along + sqrt(fmax(inner, 0.0));
        s->next = 1;
    } else if (s->here == 1 && along < 0.0 && inner > 0.0) {
        s->step = fmax(-along - sqrt(inner), 0.0);
        s->next = 0;
    } else {
        s->step = -along + sqrt(fmax(along * along - square + OUTER * OUTER, 0.0));
        s->next = 2;
    }
    return s->step < longest ? s->step : longest;
}

static void update(struct goupil_geometry_tracer *t, double length, struct goupil_float3 way) {
    struct tracer *s = (struct tracer *)t;
    s->at.x += length * s->way.x;
    s->at.y += length * s->way.y;
    s->at.z += length * s->way.z;
    if (s->step >= 0.0 && length >= s->step) s->here = s->next;
    s->step = -1.0;
    s->way = way;
}

static struct goupil_geometry_definition *new_definition(void) { return &DEFINITION; }
static struct goupil_geometry_tracer *new_tracer(struct goupil_geometry_definition *g) {
    struct tracer *s = calloc(1, sizeof *s);
    struct goupil_geometry_tracer api = {g, destroy, position, reset, where, trace, update};
    s->api = api;
    s->step = -1.0;
    return &s->api;
}

struct goupil_interface goupil_initialise(void) {
    struct goupil_interface i = {new_definition, new_tracer};
    return i;
}

/* camera.h - a camera over the table, and where its sight lines meet tops. */
#ifndef SW_TOPS_CAMERA_H
#define SW_TOPS_CAMERA_H

#include "tops/fit.h"

/* SW_NOT_FOUND where a scale speaks of no camera over the table. */
sw_status sw_tops_camera_of(const sw_scale *scale, sw_tops_camera *camera);

/* Small turns about the world's axes, then a shift. */
void sw_tops_camera_move(sw_tops_camera *camera, const double by[SW_CAMERA_NUMBERS]);

/* Where the sight line through a point of the normal plane meets the top z (height at `middle`, slopes east and north). */
sw_point sw_tops_meet(const sw_tops_camera *camera, sw_point normal, const double z[SW_TOP_NUMBERS], sw_point middle);

#endif

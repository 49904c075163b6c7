/* opencv.h - the few things we take from OpenCV, in plain C types.
 *
 * The only place that includes OpenCV is opencv.cpp. No exception leaves it: each function catches everything and answers
 * with an sw_status and a message.
 */
#ifndef SW_OPENCV_H
#define SW_OPENCV_H

#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

#ifdef __cplusplus
}
#endif
#endif

#include "opencv.h"

#include "report/common/sign.h"

static const sw_sign_line TICK[] = {{'M', {{3.5, 12.5}}}, {'L', {{9.5, 19}}}, {'L', {{20.5, 5.5}}}, {0}};
static const sw_sign_line CROSS[] = {{'M', {{5, 5}}}, {'L', {{19, 19}}}, {'M', {{19, 5}}}, {'L', {{5, 19}}}, {0}};
static const sw_sign_line QUESTION[] = {{'M', {{7, 8.5}}},
                                        {'C', {{7, 2.5}, {17, 2.5}, {17, 8.5}}},
                                        {'C', {{17, 12}, {12, 12}, {12, 15.5}}},
                                        {'M', {{12, 20.5}}},
                                        {'L', {{12, 20.51}}}, /* a dot, by its round ends */
                                        {0}};

const sw_sign_line *sw_sign(sw_verdict verdict)
{
    return verdict == SW_WITHIN ? TICK : verdict == SW_OVER ? CROSS : QUESTION;
}

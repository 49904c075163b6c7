#include "report/common/trees.h"
#include "report/inspection/json_own.h"

json_t *sw_inspection_tree(const sw_inspection *inspection)
{
    return sw_json_tree(&sw_inspection_json, inspection, &inspection);
}

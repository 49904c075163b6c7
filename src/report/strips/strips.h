/* strips.h - the parts of strips.pdf.
 *
 *   sheet:  title, sheet k of n                 strip (tile below, for north and east edges; above for south and west):
 *           | ruler |  how to check it          B2 east, take off at most 1.25 mm
 *           how to use a strip                  1.2  0.8   0.4   0      0     0
 *           -  -  -  -  cut                     |-------------------------------|   the tile's edge, 1 : 1
 *           strip                               |######.....      nothing here  |
 *           -  -  -  -  cut                     0    50   100   150   200   250
 *           strip                               north end  tile this side  south end
 *           cautions
 *
 * Seen on the tile from above, the tile lies below the line of a north or east edge and above that of a south or west
 * one; so the edge's north or west end is always at the left.
 */
#ifndef SW_REPORT_STRIPS_STRIPS_H
#define SW_REPORT_STRIPS_STRIPS_H

#include "paper/pdf.h"
#include "report/common/words.h"
#include "report/plan/words.h"

/* Home printers leave 3 to 5 mm of the sheet's edge blank (from memory); twice that, so that no end mark gets lost. */
static const double SW_STRIPS_MARGIN_MM = 10.0;
/* Widest line of the words on a sheet: the eye finds the next line up to about this length. */
static const double SW_STRIPS_HEADING_MM = 5.2, SW_STRIPS_WORDS_MM = 3.2, SW_STRIPS_FIGURES_MM = 3.2,
                    SW_STRIPS_LEADING = 1.3; /* font sizes: 15 pt, 9 pt; line height over font size */

typedef enum sw_piece_kind { SW_PIECE_TRUE_UP = 0, SW_PIECE_BEVEL } sw_piece_kind;

/* What stands on a sheet in one block: a part of an edge's strip, or a bevel. */
typedef struct sw_piece {
    sw_piece_kind kind;
    size_t edge;            /* index into the plan's edges */
    double from_mm, to_mm;  /* along the edge */
    int number, count;      /* of the edge's pieces, from 1 */
    double height_mm;       /* on paper */
    int sheet;              /* from 0 */
    double top_mm, left_mm; /* on its sheet */
} sw_piece;

typedef struct sw_strips {
    const sw_plan *plan;
    const sw_inspection *first;
    double width_mm, height_mm; /* of the page as it lies */
    sw_piece *pieces;
    size_t piece_count;
    int sheet_count; /* 1 or more */
    int times;       /* what comes off is drawn so many times as wide as it is: the same for every strip and wedge */
} sw_strips;

/* Room across for what comes off, exaggerated: of a strip, of a bevel's wedge. Deeper cuts, which are drawn as they are, take
 * more. */
static const double SW_STRIPS_DEPTH_MM = 14.0, SW_STRIPS_WEDGE_MM = 26.0;

/* Whether an edge may have a strip or a wedge: a line of the work list names it. A plan for every layout has no list; there
 * every edge may. */
bool sw_strips_shows(const sw_strips *strips, size_t edge);

/* Neighbouring pieces share this much of the edge; they are joined in its middle. */
static const double SW_STRIPS_OVERLAP_MM = 16.0;
/* Where piece `number` (from 1) is joined to the next: along the edge. */
double sw_strips_join(const sw_piece *piece, bool at_end);

/* Cuts the edges into pieces and lays them on sheets; cr only measures text. False when memory is out. Free pieces. */
bool sw_strips_pack(sw_strips *strips, cairo_t *cr);
void sw_strips_sheet(const sw_strips *strips, cairo_t *cr, int sheet);
/* From margin to margin. */
double sw_strips_across(const sw_strips *strips);
/* Bevels stand two abreast, so far apart: width of one. */
static const double SW_STRIPS_BETWEEN_MM = 6.0;
double sw_strips_bevel_width(const sw_strips *strips);
/* Height on paper of the sheet's head and foot. */
double sw_strips_head(const sw_strips *strips, cairo_t *cr, int sheet, bool draw);
double sw_strips_foot(const sw_strips *strips, cairo_t *cr, bool draw);

double sw_strips_true_up_height(const sw_strips *strips, const sw_piece *piece);
void sw_strips_true_up(const sw_strips *strips, const sw_piece *piece, cairo_t *cr);
/* Draws unless only measuring; returns its height. */
double sw_strips_bevel(const sw_strips *strips, const sw_piece *piece, cairo_t *cr, bool draw);

/* "B2 east" large, and behind it what is to be done. */
void sw_strips_heading(const sw_strips *strips, const sw_piece *piece, cairo_t *cr, const char *deed);
void sw_strips_font(cairo_t *cr, double size_mm, bool bold);
/* Text centred at x. */
void sw_strips_centred(cairo_t *cr, double x, double y, const char *text);

#endif

#include "vision/opencv.h"

#include <opencv2/calib3d.hpp>
#include <opencv2/core.hpp>

#include <cstdlib>
#include <exception>
#include <new>
#include <vector>

namespace
{

/* Runs work and turns whatever it throws into a status: an exception that crossed into C would end the program. */
template <typename Work> sw_status guarded(sw_error *err, const char *what, Work work) noexcept
{
    try {
        return work();
    } catch (const std::bad_alloc &) {
        return sw_fail(err, SW_NO_MEMORY, "not enough memory to %s", what);
    } catch (const cv::Exception &e) {
        sw_status status = e.code == cv::Error::StsNoMem ? SW_NO_MEMORY : SW_BROKEN;
        return sw_fail(err, status, "could not %s: OpenCV says: %.200s", what, e.err.c_str());
    } catch (const std::exception &e) {
        return sw_fail(err, SW_BROKEN, "could not %s: %.200s", what, e.what());
    } catch (...) {
        return sw_fail(err, SW_BROKEN, "could not %s, for an unknown reason", what);
    }
}

sw_status keep_grid(const std::vector<cv::Point2f> &found, int across, int down, sw_crossing_grid *grid)
{
    std::size_t count = found.size();
    if (across < 1 || down < 1 || static_cast<std::size_t>(across) * static_cast<std::size_t>(down) != count)
        return SW_NOT_FOUND;
    grid->corners = static_cast<sw_point *>(std::malloc(count * sizeof(sw_point)));
    if (!grid->corners)
        throw std::bad_alloc();
    for (std::size_t i = 0; i < count; i++)
        grid->corners[i] = {found[i].x, found[i].y};
    grid->across = across;
    grid->down = down;
    return SW_OK;
}

std::vector<std::vector<cv::Point2f>> points_px(const sw_board_seen *views, int count)
{
    std::vector<std::vector<cv::Point2f>> all(static_cast<std::size_t>(count));
    for (int v = 0; v < count; v++)
        for (int i = 0; i < views[v].count; i++)
            all[static_cast<std::size_t>(v)].emplace_back(static_cast<float>(views[v].px[i].x),
                                                          static_cast<float>(views[v].px[i].y));
    return all;
}

std::vector<std::vector<cv::Point3f>> points_mm(const sw_board_seen *views, int count)
{
    std::vector<std::vector<cv::Point3f>> all(static_cast<std::size_t>(count));
    for (int v = 0; v < count; v++)
        for (int i = 0; i < views[v].count; i++)
            all[static_cast<std::size_t>(v)].emplace_back(static_cast<float>(views[v].board_mm[i].x),
                                                          static_cast<float>(views[v].board_mm[i].y), 0.0f);
    return all;
}

void keep_pose(const cv::Mat &turn, const cv::Mat &shift, sw_board_seen *view)
{
    for (int i = 0; i < 3; i++) {
        view->turn[i] = turn.at<double>(i);
        view->shift_mm[i] = shift.at<double>(i);
    }
}

} // namespace

/* findChessboardCornersSB (Duda and Frese 2018) only: the older findChessboardCorners takes minutes on a picture
 * without a whole board. It answers with the pattern it found in meta: a row of meta for a row of corners. */
sw_status sw_vision_checkerboard(const uint8_t *grey, int width, int height, int least, sw_crossing_grid *grid,
                                 sw_error *err) noexcept
{
    *grid = {};
    return guarded(err, "look for the checkerboard", [&]() -> sw_status {
        const cv::Mat picture(height, width, CV_8UC1, const_cast<uint8_t *>(grey));
        std::vector<cv::Point2f> found;
        cv::Mat meta;
        const int flags = cv::CALIB_CB_NORMALIZE_IMAGE | cv::CALIB_CB_EXHAUSTIVE | cv::CALIB_CB_LARGER;
        if (!cv::findChessboardCornersSB(picture, cv::Size(least, least), found, flags, meta))
            return sw_fail(err, SW_NOT_FOUND, "no checkerboard found");
        return keep_grid(found, meta.cols, meta.rows, grid);
    });
}

void sw_crossing_grid_free(sw_crossing_grid *grid) noexcept
{
    if (!grid)
        return;
    std::free(grid->corners);
    *grid = {};
}

/* calibrateCamera with what even poor views settle: one focal length and k1, the centre in the middle. With more to
 * turn, it would bend the camera until wrongly slanted boards fit. */
sw_status sw_vision_pinhole(sw_board_seen *views, int count, int width, int height, sw_pinhole *pinhole,
                            sw_error *err) noexcept
{
    return guarded(err, "fit the camera", [&]() -> sw_status {
        cv::Mat camera = cv::Mat::eye(3, 3, CV_64F), distortion = cv::Mat::zeros(5, 1, CV_64F);
        std::vector<cv::Mat> turns, shifts;
        const int flags = cv::CALIB_FIX_ASPECT_RATIO | cv::CALIB_FIX_PRINCIPAL_POINT | cv::CALIB_ZERO_TANGENT_DIST |
                          cv::CALIB_FIX_K2 | cv::CALIB_FIX_K3;
        cv::calibrateCamera(points_mm(views, count), points_px(views, count), cv::Size(width, height), camera,
                            distortion, turns, shifts, flags);
        if (!cv::checkRange(camera) || !cv::checkRange(distortion) || camera.at<double>(0, 0) <= 0)
            return sw_fail(err, SW_BAD_INPUT, "the views do not determine a camera");
        for (std::size_t v = 0; v < turns.size(); v++)
            keep_pose(turns[v], shifts[v], &views[v]);
        *pinhole = {camera.at<double>(0, 0), camera.at<double>(0, 2), camera.at<double>(1, 2),
                    distortion.at<double>(0)};
        return SW_OK;
    });
}

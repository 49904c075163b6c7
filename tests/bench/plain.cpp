/* plain.cpp - the plain way to a picture one could measure in: decode the colours, undistort, warp to the view from
 * straight above, all of the photo. Nothing is measured yet. */
#include <cstdio>
#include <vector>

#include <jpeglib.h>

#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

static cv::Mat decode(const char *path)
{
    jpeg_decompress_struct jpeg;
    jpeg_error_mgr errors;
    FILE *file = fopen(path, "rb");
    if (!file)
        return cv::Mat();
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&jpeg);
    jpeg_stdio_src(&jpeg, file);
    jpeg_read_header(&jpeg, TRUE);
    jpeg.out_color_space = JCS_EXT_BGR;
    jpeg_start_decompress(&jpeg);
    cv::Mat photo(static_cast<int>(jpeg.output_height), static_cast<int>(jpeg.output_width), CV_8UC3);
    while (jpeg.output_scanline < jpeg.output_height) {
        JSAMPROW row = photo.ptr(static_cast<int>(jpeg.output_scanline));
        jpeg_read_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_decompress(&jpeg);
    jpeg_destroy_decompress(&jpeg);
    fclose(file);
    return photo;
}

int main(int argc, char **argv)
{
    cv::setNumThreads(1);
    cv::Mat photo = argc == 2 ? decode(argv[1]) : cv::Mat(), flat, above;
    if (photo.empty())
        return 2;
    /* A phone's usual lens and a slant of a few degrees: made up, the work is the same for any. */
    double f = 0.72 * photo.cols, x = photo.cols / 2.0, y = photo.rows / 2.0;
    cv::Mat lens = (cv::Mat_<double>(3, 3) << f, 0, x, 0, f, y, 0, 0, 1);
    std::vector<double> distortion = {0.05, -0.1, 0.0005, -0.0005, 0.02};
    cv::Mat slant = (cv::Mat_<double>(3, 3) << 1.02, 0.03, -40, -0.02, 1.01, 30, 4e-6, -3e-6, 1);
    cv::undistort(photo, flat, lens, distortion);
    cv::warpPerspective(flat, above, slant, photo.size(), cv::INTER_LINEAR);
    printf("%d\n", above.at<cv::Vec3b>(photo.rows / 2, photo.cols / 2)[0]);
    return 0;
}

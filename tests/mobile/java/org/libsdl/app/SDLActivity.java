package org.libsdl.app;

import android.app.Activity;
import android.content.pm.ActivityInfo;

/** Stands for SDL's activity: what it asks of a phone for the hint "Portrait", and its surface. */
public class SDLActivity extends Activity {
    public void setOrientationBis(int w, int h, boolean resizable, String hint) {
        setRequestedOrientation(ActivityInfo.SCREEN_ORIENTATION_PORTRAIT);
    }

    /** Whether SDL's surface draws at a size (SDLSurface.surfaceChanged of SDL 2.30). */
    public boolean draws(int width, int height) {
        boolean isUpright =
                orientation == ActivityInfo.SCREEN_ORIENTATION_PORTRAIT
                        || orientation == ActivityInfo.SCREEN_ORIENTATION_SENSOR_PORTRAIT;
        boolean isNearlySquare = width < 1.2 * height;
        return !isUpright || width <= height || isNearlySquare || isInMultiWindowMode();
    }
}

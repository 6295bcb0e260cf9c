package example.fernhollow.voltwalk;

import android.content.pm.ActivityInfo;
import android.content.res.Configuration;
import android.graphics.Color;
import android.graphics.Insets;
import android.os.Build;
import android.os.Bundle;
import android.view.View;
import android.view.Window;
import android.view.WindowInsets;
import android.view.WindowInsetsController;
import android.view.WindowManager;
import org.kivy.android.PythonActivity;

/**
 * The app's window: drawn beside the system's bars, the camera's cutout and the keyboard.
 *
 * <p>From Android 15 on an app is drawn under all of them. Here the content view is padded by what
 * they cover, whenever the system says so; what is drawn in it, sheets and dialogs too, then lies
 * in the open part of the screen and need not know of them.
 */
public class VoltwalkActivity extends PythonActivity {

    /** Least width of a large screen, in dp; from Android 16 on it ignores a wish to stay upright. */
    private static final int LARGE_DP = 600;

    @Override
    protected void onCreate(Bundle savedInstanceState) {
        super.onCreate(savedInstanceState);
        turnAsTheScreenAllows();
        Window window = getWindow();
        window.setSoftInputMode(WindowManager.LayoutParams.SOFT_INPUT_ADJUST_RESIZE);
        window.addFlags(WindowManager.LayoutParams.FLAG_DRAWS_SYSTEM_BAR_BACKGROUNDS);
        paintBars(colourAtStart(), false);
        if (Build.VERSION.SDK_INT >= 30) {
            fitOpenPart(window);
        }
    }

    @Override
    public void onConfigurationChanged(Configuration newConfig) {
        super.onConfigurationChanged(newConfig);
        turnAsTheScreenAllows(); // a folding phone's screen has become large, or small
    }

    /** Where SDL, when it makes its window, would ask for upright by itself. */
    @Override
    public void setOrientationBis(int w, int h, boolean resizable, String hint) {
        turnAsTheScreenAllows();
    }

    /**
     * Paints the bars in the page's colour, with signs that are seen on it.
     *
     * @param ground the page's colour, as ARGB
     * @param isDark whether the page is dark and the bars' signs must be light
     */
    public void paintBars(final int ground, final boolean isDark) {
        runOnUiThread(
                new Runnable() {
                    @Override
                    public void run() {
                        paintBarsNow(ground, isDark);
                    }
                });
    }

    private void paintBarsNow(int ground, boolean isDark) {
        Window window = getWindow();
        View decor = window.getDecorView();
        decor.setBackgroundColor(ground);
        if (Build.VERSION.SDK_INT < 35) { // from then on the bars are clear
            window.setStatusBarColor(ground);
            window.setNavigationBarColor(ground);
        }
        if (Build.VERSION.SDK_INT >= 30) {
            WindowInsetsController bars = window.getInsetsController();
            int darkSigns =
                    WindowInsetsController.APPEARANCE_LIGHT_STATUS_BARS
                            | WindowInsetsController.APPEARANCE_LIGHT_NAVIGATION_BARS;
            if (bars != null) {
                bars.setSystemBarsAppearance(isDark ? 0 : darkSigns, darkSigns);
            }
        } else {
            int darkSigns =
                    View.SYSTEM_UI_FLAG_LIGHT_STATUS_BAR | View.SYSTEM_UI_FLAG_LIGHT_NAVIGATION_BAR;
            int others = decor.getSystemUiVisibility() & ~darkSigns;
            decor.setSystemUiVisibility(isDark ? others : others | darkSigns);
        }
    }

    private void fitOpenPart(Window window) {
        window.setDecorFitsSystemWindows(false);
        View content = findViewById(android.R.id.content);
        content.setOnApplyWindowInsetsListener(
                new View.OnApplyWindowInsetsListener() {
                    @Override
                    public WindowInsets onApplyWindowInsets(View view, WindowInsets insets) {
                        return padded(view, insets);
                    }
                });
        content.requestApplyInsets();
    }

    private WindowInsets padded(View content, WindowInsets insets) {
        Insets covered =
                insets.getInsets(
                        WindowInsets.Type.systemBars()
                                | WindowInsets.Type.displayCutout()
                                | WindowInsets.Type.ime());
        content.setPadding(covered.left, covered.top, covered.right, covered.bottom);
        return WindowInsets.CONSUMED;
    }

    /**
     * Keeps a phone upright and lets a large screen turn.
     *
     * <p>Never by SCREEN_ORIENTATION_PORTRAIT: where that was asked for SDL draws nothing into a
     * surface wider than high (SDLSurface.surfaceChanged), as it is on a large screen that lies
     * flat, and on a small phone while the keyboard is open.
     */
    private void turnAsTheScreenAllows() {
        boolean isLarge = getResources().getConfiguration().smallestScreenWidthDp >= LARGE_DP;
        setRequestedOrientation(
                isLarge
                        ? ActivityInfo.SCREEN_ORIENTATION_FULL_USER
                        : ActivityInfo.SCREEN_ORIENTATION_USER_PORTRAIT);
    }

    private int colourAtStart() {
        int id = getResources().getIdentifier("presplash_color", "string", getPackageName());
        return Color.parseColor(getString(id));
    }
}

package android.app;

import android.content.ActivityNotFoundException;
import android.content.ContentResolver;
import android.content.Context;
import android.content.Intent;
import android.content.res.Configuration;
import android.content.res.Resources;
import android.hardware.SensorManager;
import android.os.Bundle;
import android.os.Vibrator;
import android.view.View;
import android.view.Window;

public class Activity extends Context {
    public boolean opensNothing = false, isSplit = false;
    public Intent started;
    public int orientation = -1;
    private final ContentResolver resolver = new ContentResolver();
    private final Window window = new Window();
    private final Resources resources = new Resources();
    public final Vibrator motor = new Vibrator() {};
    public boolean hasNoMotor = false;
    public final SensorManager sensors = new SensorManager() {};

    protected void onCreate(Bundle savedInstanceState) {}

    public void onConfigurationChanged(Configuration newConfig) {}

    public Window getWindow() {
        return window;
    }

    public View findViewById(int id) {
        return id == android.R.id.content ? window.inside : null;
    }

    @Override
    public Object getSystemService(String name) {
        if (name.equals(SENSOR_SERVICE)) return sensors;
        return name.equals(VIBRATOR_SERVICE) && !hasNoMotor ? motor : null;
    }

    public Resources getResources() {
        return resources;
    }

    public final String getString(int resId) {
        return "#F4F1E8";
    }

    public final void runOnUiThread(Runnable action) {
        action.run();
    }

    public void setRequestedOrientation(int requestedOrientation) {
        orientation = requestedOrientation;
    }

    public boolean isInMultiWindowMode() {
        return isSplit;
    }

    public ContentResolver getContentResolver() {
        return resolver;
    }

    public void startActivity(Intent intent) {
        if (opensNothing) throw new ActivityNotFoundException(intent.does);
        started = intent;
    }

    public void startActivityForResult(Intent intent, int requestCode) {
        startActivity(intent);
    }
}
